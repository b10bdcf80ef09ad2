"""The how-to shows what the command and the notebook print: it is run as it stands."""

import doctest
import os
import re
import subprocess
import sys
from pathlib import Path

from tests.life.published import BEARINGS

PAGE = Path(__file__).resolve().parents[3] / "docs" / "how-to-lives.md"


def block(kind):
    """Give the one block of this kind."""
    (found,) = re.findall(rf"```{kind}\n(.*?)```", PAGE.read_text(encoding="utf-8"), re.DOTALL)
    return found


def test_its_table_is_the_published_one():
    rows = [line.split(",") for line in block("csv").splitlines()[1:]]
    published = [line.split(",") for line in BEARINGS.decode().splitlines()[1:]]
    assert [(row[0], float(row[1]), row[2]) for row in rows] == [
        (row[0], float(row[1]), row[2]) for row in published
    ]


def test_its_command_prints_what_it_shows(tmp_path):
    (tmp_path / "bearings.csv").write_text(block("csv"), encoding="utf-8")
    command, _, shown = block("console").partition("\n")
    words = command.removeprefix("$ turnwell ").split()
    program = "import sys; from turnwell.cli.main import main; sys.exit(main())"
    done = subprocess.run(
        [sys.executable, "-c", program, *words],
        cwd=tmp_path,
        capture_output=True,
        encoding="utf-8",
        check=True,
        env=os.environ | {"PYTHONIOENCODING": "utf-8"},
    )
    assert done.stdout == shown


def test_its_notebook_runs(tmp_path, monkeypatch):
    (tmp_path / "bearings.csv").write_text(block("csv"), encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    test = doctest.DocTestParser().get_doctest(block("python"), {}, "how-to", str(PAGE), 0)
    assert len(test.examples) >= 6
    assert doctest.DocTestRunner().run(test).failed == 0
