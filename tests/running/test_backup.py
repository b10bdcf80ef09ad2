"""A backup is one consistent file, made while others write, and comes back as it was."""

import hashlib
import json
import sqlite3
import threading
import zipfile
from contextlib import closing
from pathlib import Path

from tests.running.book import Book
from tests.running.make_book import PAPERS


def test_it_holds_database_and_evidence_under_their_sha256(made_backup: Path):
    with zipfile.ZipFile(made_backup) as zipped:
        manifest = json.loads(zipped.read("manifest.json"))
        listed = {file["path"]: file for file in manifest["files"]}
        assert set(zipped.namelist()) == {*listed, "manifest.json"}
        for path, file in listed.items():
            content = zipped.read(path)
            assert hashlib.sha256(content).hexdigest() == file["sha256"]
            assert len(content) == file["size_bytes"]
    digests = {hashlib.sha256(content).hexdigest() for content in PAPERS}
    assert {Path(path).name for path in listed if path.startswith("evidence/")} == digests
    assert "secret" not in listed


def test_secrets_come_along_only_when_asked(book: Book, tmp_path: Path):
    target = tmp_path / "with.zip"
    assert book.run("backup", str(target), "--with-secrets").returncode == 0
    with zipfile.ZipFile(target) as zipped:
        assert zipped.read("secret") == (book.home / "secret").read_bytes()
    assert target.stat().st_mode & 0o077 == 0


def test_a_folder_gets_a_file_named_by_the_time(book: Book, tmp_path: Path):
    folder = tmp_path / "stick"
    folder.mkdir()
    assert book.run("backup", str(folder)).returncode == 0
    assert [path.name[:9] for path in folder.iterdir()] == ["turnwell-"]


def test_it_never_overwrites(book: Book, tmp_path: Path):
    target = tmp_path / "there.zip"
    target.write_text("precious")
    done = book.run("backup", str(target))
    assert (done.returncode, target.read_text()) == (1, "precious")
    assert "is there already" in done.stderr


def test_a_missing_folder_is_one_sentence(book: Book, tmp_path: Path):
    done = book.run("backup", str(tmp_path / "no" / "b.zip"))
    assert done.returncode == 1
    assert done.stderr.count("\n") == 1
    assert "make it first" in done.stderr


def test_no_data_folder_makes_none(empty: Book, tmp_path: Path):
    done = empty.run("backup", str(tmp_path / "b.zip"))
    assert (done.returncode, empty.home.exists()) == (1, False)


def test_it_is_one_moment_while_others_write(book: Book, tmp_path: Path):
    """Two rows are always written together; a backup that tore them apart would show it."""
    book.ask("CREATE TABLE pair (a INTEGER)")
    stop = threading.Event()

    def write() -> None:
        with closing(sqlite3.connect(book.database, timeout=20)) as database:
            while not stop.is_set():
                with database:
                    database.execute("INSERT INTO pair VALUES (1)")
                    database.execute("INSERT INTO pair VALUES (2)")

    writer = threading.Thread(target=write)
    writer.start()
    try:
        done = book.run("backup", str(tmp_path / "busy.zip"))
    finally:
        stop.set()
        writer.join()
    assert done.returncode == 0, done.stderr
    with zipfile.ZipFile(tmp_path / "busy.zip") as zipped:
        copy = zipped.extract("database.sqlite3", tmp_path)
    with closing(sqlite3.connect(copy)) as database:
        ones, twos = database.execute("SELECT SUM(a = 1), SUM(a = 2) FROM pair").fetchone()
    assert ones == twos > 0


def test_missing_and_damaged_evidence_is_said_and_the_rest_kept(book: Book, tmp_path: Path):
    gone, changed = book.evidence
    gone.unlink()
    changed.write_bytes(b"%PDF-1.7 something else")
    target = tmp_path / "hurt.zip"
    done = book.run("backup", str(target), "--json")
    assert done.returncode == 1
    report = json.loads(done.stdout)
    assert (report["missing"], report["damaged"]) == ([gone.name], [changed.name])
    with zipfile.ZipFile(target) as zipped:
        assert zipped.read(f"evidence/{changed.name[:2]}/{changed.name}").endswith(b"else")
