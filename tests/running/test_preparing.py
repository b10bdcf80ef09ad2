"""Before the records are changed they are backed up; a start with nothing new changes nothing."""

import json
import zipfile
from pathlib import Path

import pytest

from tests.running.book import ROOT, Book

EARLIER = sorted((ROOT / "tests" / "running" / "earlier").glob("*.zip"))
PREPARE = (
    "import json; from datetime import UTC, datetime\n"
    "from turnwell.web.running.opening import open_records; open_records()\n"
    "from turnwell.web.running.preparing import prepare\n"
    "done = prepare(datetime.now(UTC))\n"
    "print(json.dumps([str(done.backup or ''), done.migrations]))\n"
)


def prepared(book: Book) -> tuple[str, list[str]]:
    done = book.python(PREPARE)
    assert done.returncode == 0, done.stderr
    backup, migrations = json.loads(done.stdout)
    return backup, migrations


def test_records_are_backed_up_before_they_are_migrated(book: Book):
    book.ask("DROP TABLE django_session")
    book.ask("DELETE FROM django_migrations WHERE app = 'sessions'")
    backup, migrations = prepared(book)
    assert migrations == ["sessions.0001_initial"]
    with zipfile.ZipFile(backup) as zipped:
        manifest = json.loads(zipped.read("manifest.json"))
    assert "sessions" not in manifest["migrations"]
    assert manifest["has_evidence"] is False
    assert Path(backup).parent == book.home / "backups"
    assert Path(backup).stat().st_mode & 0o077 == 0
    assert book.report()["sound"] is True


def test_a_second_start_changes_nothing(book: Book):
    prepared(book)
    static = book.home / "static"
    before = {path: path.stat().st_mtime_ns for path in static.rglob("*")}
    assert (static / "turnwell" / "charts" / "vega.js").is_file()
    assert prepared(book) == ("", [])
    assert {path: path.stat().st_mtime_ns for path in static.rglob("*")} == before


def test_what_a_killed_server_left_half_received_is_gone(book: Book):
    part = book.home / "evidence" / "incoming" / "half.part"
    part.parent.mkdir(exist_ok=True)
    part.write_bytes(b"half")
    prepared(book)
    assert not part.exists()


@pytest.mark.parametrize("kept", EARLIER, ids=lambda path: path.stem)
def test_the_records_of_every_version_migrate(kept: Path, empty: Book):
    """A backup kept from each version comes back, migrates, and holds what it held."""
    restored = empty.run("restore", str(kept))
    assert restored.returncode == 0, restored.stderr
    codes = empty.ask("SELECT code FROM jobs_job ORDER BY code")
    backup, migrations = prepared(empty)
    assert bool(backup) == bool(migrations)
    assert empty.ask("SELECT code FROM jobs_job ORDER BY code") == codes != []
    assert empty.report()["sound"] is True


def test_there_is_a_version_to_try():
    assert EARLIER
