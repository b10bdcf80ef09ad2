"""The demo has a data folder of its own and leaves nothing behind, whenever it is stopped."""

import signal
import subprocess
import sys
from pathlib import Path

import pytest

from tests.running.book import ROOT, Book

START = "import sys; from turnwell.cli.main import main; sys.exit(main())"


@pytest.mark.slow
@pytest.mark.parametrize("by", [signal.SIGINT, signal.SIGTERM])
def test_stopped_while_it_invents_it_leaves_nothing(
    empty: Book, tmp_path: Path, by: signal.Signals
):
    temporary = tmp_path / "temporary"
    temporary.mkdir()
    other = {"TMPDIR": str(temporary), "TURNWELL_DATABASE_URL": "postgresql://nobody@nowhere/none"}
    process = subprocess.Popen(
        [sys.executable, "-u", "-c", START, "demo", "--port", "42390"],
        env={**empty.environment, **other},
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    try:
        assert process.stdout is not None
        assert "Inventing a shop" in process.stdout.readline()
        assert list(temporary.glob("turnwell-demo-*"))
        process.send_signal(by)
        rest, _ = process.communicate(timeout=60)
    finally:
        process.kill()
    assert (process.returncode, rest) == (0, "")
    assert not list(temporary.glob("turnwell-demo-*"))
    assert not empty.home.exists()
