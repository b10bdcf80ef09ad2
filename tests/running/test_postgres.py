"""On PostgreSQL: a backup is one moment, and comes back within one transaction."""

import io
import json
import threading
import zipfile
from datetime import UTC, datetime
from pathlib import Path

import psycopg
import pytest
from django.db import IntegrityError, connection

from tests.people import olga_the_owner
from turnwell.errors import InputError, UnreadableFileError
from turnwell.web.evidence.actions import store_file
from turnwell.web.evidence.models import StoredFile
from turnwell.web.offices.models import Chair, Office
from turnwell.web.running.backup import write_backup
from turnwell.web.running.checking import check_records
from turnwell.web.running.restore import restore

pytestmark = [pytest.mark.postgres, pytest.mark.django_db(transaction=True)]
NOW = datetime(2026, 3, 1, 10, 15, tzinfo=UTC)


@pytest.fixture(autouse=True)
def home(tmp_path: Path, settings: object) -> Path:
    if connection.vendor != "postgresql":
        pytest.skip("the tests run on the embedded database")
    settings.HOME = tmp_path  # type: ignore[attr-defined]  # Django's settings
    settings.EVIDENCE_ROOT = tmp_path / "evidence"  # type: ignore[attr-defined]  # Django's settings
    return tmp_path


def some_records() -> None:
    office = Office.objects.create(name="Birch\tLane \\ 'quoted'\nsecond line")
    Chair.objects.create(office=office, name="1")
    store_file(
        by=olga_the_owner(),
        kind=StoredFile.Kind.PAPER,
        content=io.BytesIO(b"%PDF-1.7 a paper"),
        original_name="sheet.pdf",
    )


def test_round_trip_keeps_every_value_and_numbers_on(home: Path, tmp_path: Path):
    some_records()
    before = list(Office.objects.values_list())
    backup = write_backup(tmp_path / "book.zip", now=NOW)
    Office.objects.update(name="changed since")
    restored = restore(backup.path, replace=True, now=NOW)
    assert list(Office.objects.values_list()) == before
    assert restored.kept_aside is not None
    assert (restored.kept_aside / "database.zip").is_file()
    assert Office.objects.create(name="next").pk > before[-1][0]
    assert check_records().is_sound


def test_it_is_one_moment_while_others_write(home: Path, tmp_path: Path):
    """Office and chair are always written together; a torn backup has one without the other."""
    some_records()
    stop = threading.Event()
    sql = (
        "WITH o AS (INSERT INTO offices_office (name, address, contact, phone, email, time_zone,"
        " is_active, note) VALUES (gen_random_uuid()::text, '', '', '', '', 'UTC', true, '')"
        " RETURNING id) INSERT INTO offices_chair (office_id, name) SELECT id, '1' FROM o"
    )

    def write() -> None:
        parts = connection.get_connection_params()
        parts = {key: parts[key] for key in ("dbname", "user", "host", "port") if key in parts}
        with psycopg.connect(autocommit=True, **parts) as own:
            while not stop.is_set():
                own.execute(sql)

    writer = threading.Thread(target=write)
    writer.start()
    try:
        backups = [write_backup(tmp_path / f"{turn}.zip", now=NOW) for turn in range(3)]
    finally:
        stop.set()
        writer.join()
    for backup in backups:
        with zipfile.ZipFile(backup.path) as zipped:
            offices = zipped.read("tables/offices_office.copy").count(b"\n")
            chairs = zipped.read("tables/offices_chair.copy").count(b"\n")
        assert offices == chairs > 0


def test_a_row_that_points_nowhere_leaves_everything_as_it_was(home: Path, tmp_path: Path):
    some_records()
    backup = write_backup(tmp_path / "book.zip", now=NOW)
    odd = tmp_path / "odd.zip"
    with zipfile.ZipFile(backup.path) as source, zipfile.ZipFile(odd, "w") as target:
        for name in source.namelist():
            content = source.read(name)
            if name == "tables/offices_office.copy":
                content = b""
            if name == "manifest.json":
                manifest = json.loads(content)
                for file in manifest["files"]:
                    if file["path"] == "tables/offices_office.copy":
                        digest = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
                        file.update(sha256=digest, size_bytes=0)
                content = json.dumps(manifest).encode()
            target.writestr(name, content)
    before = list(Office.objects.values_list())
    with pytest.raises(IntegrityError):
        restore(odd, replace=True, now=NOW)
    assert list(Office.objects.values_list()) == before
    assert check_records().is_sound


def test_records_are_not_overwritten_without_being_told(home: Path, tmp_path: Path):
    backup = write_backup(tmp_path / "book.zip", now=NOW)
    with pytest.raises(InputError, match="--replace"):
        restore(backup.path, replace=False, now=NOW)


def test_lost_evidence_in_a_backup_is_refused(home: Path, tmp_path: Path):
    some_records()
    backup = write_backup(tmp_path / "book.zip", now=NOW)
    poor = tmp_path / "poor.zip"
    with zipfile.ZipFile(backup.path) as source, zipfile.ZipFile(poor, "w") as target:
        for name in source.namelist():
            content = source.read(name)
            if name == "manifest.json":
                manifest = json.loads(content)
                files = manifest["files"]
                kept = [file for file in files if not file["path"].startswith("evidence/")]
                content = json.dumps({**manifest, "files": kept}).encode()
            if not name.startswith("evidence/"):
                target.writestr(name, content)
    with pytest.raises(UnreadableFileError, match="lacks 1 files"):
        restore(poor, replace=True, now=NOW)
    assert check_records().is_sound
