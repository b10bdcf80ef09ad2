"""A restore verifies first, refuses to overwrite, and keeps what was there."""

import hashlib
import json
import shutil
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.running.book import Book
from turnwell.errors import InputError
from turnwell.web.running import restore as module
from turnwell.web.running.archive import open_archive
from turnwell.web.running.folder import hold

Tamper = Callable[[dict[str, bytes]], dict[str, bytes]]


def test_round_trip_into_an_empty_folder(made_book: Book, made_backup: Path, empty: Book):
    done = empty.run("restore", str(made_backup))
    assert done.returncode == 0, done.stderr
    assert empty.ask("SELECT * FROM jobs_job") == made_book.ask("SELECT * FROM jobs_job")
    assert [path.read_bytes() for path in empty.evidence] == [
        path.read_bytes() for path in made_book.evidence
    ]
    assert empty.report()["sound"] is True


def test_records_are_not_overwritten_without_being_told(book: Book, made_backup: Path):
    before = book.database.read_bytes()
    done = book.run("restore", str(made_backup))
    assert done.returncode == 1
    assert "--replace" in done.stderr
    assert book.database.read_bytes() == before


def test_what_was_there_is_kept_aside(book: Book, made_backup: Path):
    book.ask("UPDATE offices_office SET name = 'changed since'")
    secret = (book.home / "secret").read_bytes()
    done = book.run("restore", str(made_backup), "--replace")
    assert done.returncode == 0, done.stderr
    assert book.ask("SELECT name FROM offices_office") == [("Birch Lane",)]
    (aside,) = book.home.glob("before-restore-*")
    assert str(aside) in done.stdout
    assert Book(aside).ask("SELECT name FROM offices_office") == [("changed since",)]
    assert len(Book(aside).evidence) == 2
    assert (book.home / "secret").read_bytes() == secret
    assert not list(book.home.glob("restoring-*"))


def test_a_backup_before_migration_leaves_evidence_alone(book: Book, made_backup: Path):
    """Such a backup has no files; those of the data folder stay."""
    with_manifest = _tampered(made_backup, _only_the_database, book.home.parent / "db.zip")
    done = book.run("restore", str(with_manifest), "--replace")
    assert done.returncode == 0, done.stderr
    assert len(book.evidence) == 2
    assert book.report()["sound"] is True


def _only_the_database(content: dict[str, bytes]) -> dict[str, bytes]:
    manifest = json.loads(content["manifest.json"])
    manifest["has_evidence"] = False
    manifest["files"] = [file for file in manifest["files"] if "evidence" not in file["path"]]
    kept = {name: words for name, words in content.items() if "evidence" not in name}
    return {**kept, "manifest.json": json.dumps(manifest).encode()}


def _in_manifest(change: Callable[[dict[str, object]], object]) -> Tamper:
    def tamper(content: dict[str, bytes]) -> dict[str, bytes]:
        manifest = json.loads(content["manifest.json"])
        change(manifest)
        return {**content, "manifest.json": json.dumps(manifest).encode()}

    return tamper


def _evidence_flipped(content: dict[str, bytes]) -> dict[str, bytes]:
    name = next(name for name in content if name.startswith("evidence/"))
    return {**content, name: bytes([content[name][0] ^ 1]) + content[name][1:]}


def _with_entry(path: str) -> Tamper:
    def tamper(content: dict[str, bytes]) -> dict[str, bytes]:
        manifest = json.loads(content["manifest.json"])
        digest = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
        manifest["files"].append({"path": path, "sha256": digest, "size_bytes": 0})
        return {**content, path: b"", "manifest.json": json.dumps(manifest).encode()}

    return tamper


def _bomb(content: dict[str, bytes]) -> dict[str, bytes]:
    manifest = json.loads(content["manifest.json"])
    manifest["files"][0]["size_bytes"] = 1 << 50
    return {**content, "manifest.json": json.dumps(manifest).encode()}


def _broken_database(content: dict[str, bytes]) -> dict[str, bytes]:
    words = content["database.sqlite3"][:40_000] + b"\xff" * 40_000
    manifest = json.loads(content["manifest.json"])
    for file in manifest["files"]:
        if file["path"] == "database.sqlite3":
            file.update(sha256=hashlib.sha256(words).hexdigest(), size_bytes=len(words))
    return {
        **content,
        "database.sqlite3": words,
        "manifest.json": json.dumps(manifest).encode(),
    }


@pytest.mark.parametrize(
    ("tamper", "sentence"),
    [
        (_evidence_flipped, "is damaged"),
        (_broken_database, "nothing was changed"),
        (_with_entry("../../outside"), "should not hold"),
        (_with_entry("/etc/outside"), "should not hold"),
        (_with_entry("evidence/ab/../../../outside"), "should not hold"),
        (_with_entry("certificates/other.key"), "should not hold"),
        (_bomb, "another size"),
        (_in_manifest(lambda said: said.update(schema="turnwell.backup/9")), "turnwell.backup/9"),
        (_in_manifest(lambda said: said["migrations"]["jobs"].append("9999_later")), "newer"),
        (_in_manifest(lambda said: said.update(database="postgresql")), "postgresql"),
        (_in_manifest(lambda said: said.update(files=said["files"][:-1])), "should not hold"),
        (_in_manifest(lambda said: said.update(columns={"a": ["b"]})), "tables"),
        (_in_manifest(lambda said: said.pop("version")), "version"),
    ],
)
def test_a_backup_that_is_not_right_changes_nothing(
    book: Book, made_backup: Path, tmp_path: Path, tamper: Tamper, sentence: str
):
    odd = _tampered(made_backup, tamper, tmp_path / "odd.zip")
    before = (book.database.read_bytes(), sorted(book.home.iterdir()))
    done = book.run("restore", str(odd), "--replace")
    assert done.returncode == 1
    assert sentence in done.stderr
    assert done.stderr.count("\n") == 1
    assert (book.database.read_bytes(), _without_lock(book)) == (before[0], before[1])
    assert not (tmp_path / "outside").exists()


def _without_lock(book: Book) -> list[Path]:
    return sorted(path for path in book.home.iterdir() if path.name != "in-use.lock")


def _tampered(source: Path, tamper: Tamper, target: Path) -> Path:
    with zipfile.ZipFile(source) as zipped:
        content = {name: zipped.read(name) for name in zipped.namelist()}
    with zipfile.ZipFile(target, "w") as zipped:
        for name, words in tamper(content).items():
            zipped.writestr(name, words)
    return target


@pytest.mark.parametrize("keep_bytes", [0, 100, 5_000])
def test_a_cut_backup_is_refused(book: Book, made_backup: Path, tmp_path: Path, keep_bytes: int):
    cut = tmp_path / "cut.zip"
    cut.write_bytes(made_backup.read_bytes()[:keep_bytes])
    done = book.run("restore", str(cut), "--replace")
    assert done.returncode == 1
    assert "no backup, or was cut short" in done.stderr


def test_a_lie_about_the_size_in_the_zip_itself_is_found(
    book: Book, made_backup: Path, tmp_path: Path
):
    """A zip whose directory says less than what comes out unpacks no more than it said."""
    with zipfile.ZipFile(made_backup) as zipped:
        size = zipped.getinfo("database.sqlite3").file_size
    words = made_backup.read_bytes()
    low = (size - 4096).to_bytes(4, "little")
    lying = tmp_path / "lying.zip"
    lying.write_bytes(words.replace(size.to_bytes(4, "little"), low))
    with zipfile.ZipFile(lying) as zipped:
        assert zipped.getinfo("database.sqlite3").file_size == size - 4096
    done = book.run("restore", str(lying), "--replace")
    assert done.returncode == 1
    assert "Traceback" not in done.stderr


def test_a_failing_swap_puts_everything_back(book: Book, made_backup: Path):
    """The disk fills up just as the database is to be moved into its place."""
    code = (
        "from pathlib import Path; from datetime import UTC, datetime\n"
        "from turnwell.web.running.opening import open_records; open_records()\n"
        "from turnwell.web.running.restore import restore\n"
        "rename = Path.rename\n"
        "def failing(self, target):\n"
        "    if 'restoring-' in str(self) and Path(target).parent.name == 'home':\n"
        "        if self.name == 'turnwell.sqlite3':\n"
        "            raise OSError(28, 'No space left on device')\n"
        "    return rename(self, target)\n"
        "Path.rename = failing\n"
        f"restore(Path({str(made_backup)!r}), replace=True, now=datetime.now(UTC))\n"
    )
    before = (book.database.read_bytes(), _without_lock(book), book.evidence)
    done = book.python(code)
    assert "No space left" in done.stderr
    assert (book.database.read_bytes(), _without_lock(book), book.evidence) == before


def test_it_waits_for_no_server(book: Book, made_backup: Path):
    with hold(book.home):
        done = book.run("restore", str(made_backup), "--replace")
    assert done.returncode == 1
    assert "in use by another turnwell" in done.stderr


def test_a_missing_file_makes_no_data_folder(empty: Book, tmp_path: Path):
    done = empty.run("restore", str(tmp_path / "none.zip"))
    assert (done.returncode, empty.home.exists()) == (1, False)


def test_no_room_is_said_before_unpacking(
    book: Book, made_backup: Path, monkeypatch: pytest.MonkeyPatch
):
    usage = shutil.disk_usage(book.home)._replace(free=10)
    monkeypatch.setattr(module.shutil, "disk_usage", lambda _: usage)
    monkeypatch.setattr(module.connection.introspection, "table_names", list)
    monkeypatch.setattr(module.connection, "vendor", "sqlite")
    with open_archive(made_backup) as archive, pytest.raises(InputError, match="free some space"):
        module._refuse(archive, book.home, replace=False)
