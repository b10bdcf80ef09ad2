"""What is kept between questions: in memory, in a file, and never from a transaction."""

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest
from django.db import connection, transaction

from tests.web.lives.records.shop import NOW, a_stay, tool
from tests.web.lives.records.test_snapshot import told
from turnwell.web.jobs.models import Job
from turnwell.web.lives.records import keeping, shop_records
from turnwell.web.lives.records.file import read_file, write_file
from turnwell.web.lives.records.snapshot import read_snapshot

pytestmark = pytest.mark.django_db
in_the_open = pytest.mark.django_db(transaction=True)


@pytest.fixture(autouse=True)
def _nothing_kept() -> Iterator[None]:
    keeping.forget()
    keeping.path_of_file().unlink(missing_ok=True)
    yield
    keeping.forget()
    keeping.path_of_file().unlink(missing_ok=True)


@pytest.fixture
def outside(monkeypatch: pytest.MonkeyPatch) -> None:
    """Take the test's own transaction, which is rolled back at its end, for none."""
    monkeypatch.setattr(keeping, "_may_be_rolled_back", lambda: False)


def a_return() -> Job:
    one = tool()
    a_stay(one, 10, 12)
    return a_stay(one, 50, 53)


def write_once(job: Job) -> None:
    """Write a job as its actions do, with its version counted up."""
    job.known_cycles = (job.known_cycles or 0) + 1
    job.version += 1
    job.save()


@pytest.mark.usefixtures("outside")
def test_the_same_records_are_given_while_nothing_was_written():
    job = a_return()
    first = shop_records(NOW)
    assert shop_records(NOW + timedelta(hours=1)) is first
    write_once(job)
    second = shop_records(NOW)
    assert second is not first
    assert second.stamp != first.stamp


@pytest.mark.usefixtures("outside")
def test_the_next_day_observation_goes_on():
    a_return()
    first = shop_records(NOW)
    second = shop_records(NOW + timedelta(days=1))
    assert second.now_s - first.now_s == 86_400
    assert second.stamp == first.stamp


@pytest.mark.usefixtures("outside")
def test_a_question_about_an_earlier_moment_gets_its_own_answer():
    a_return()
    shop_records(NOW)
    earlier = NOW - timedelta(hours=2)
    assert shop_records(earlier).now_s == int(earlier.timestamp())


def test_within_a_transaction_nothing_is_kept():
    a_return()
    assert shop_records(NOW).returns.count == 1
    assert keeping._kept.records is None
    assert not keeping.path_of_file().exists()


@in_the_open
def test_what_was_rolled_back_was_never_there():
    job = a_return()
    before = shop_records(NOW)
    with transaction.atomic():
        write_once(job)
        assert shop_records(NOW).stamp != before.stamp
        transaction.set_rollback(True)
    assert shop_records(NOW) is before


@pytest.mark.usefixtures("outside")
def test_a_new_process_begins_with_the_file_and_reads_what_changed(
    monkeypatch: pytest.MonkeyPatch,
):
    job = a_return()
    shop_records(NOW)
    assert keeping.path_of_file().is_file()
    keeping.forget()
    write_once(job)

    def never() -> None:
        raise AssertionError("all was read anew")

    monkeypatch.setattr(keeping, "read_snapshot", never)
    again = shop_records(NOW)
    assert 1 in again.stays.cycles.tolist()
    assert again.returns.job.tolist() == [job.pk]


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04 no archive", b"\x00" * 5000])
@pytest.mark.usefixtures("outside")
def test_a_damaged_file_is_made_anew(content: bytes, caplog: pytest.LogCaptureFixture):
    job = a_return()
    path = keeping.path_of_file()
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content)
    assert shop_records(NOW).returns.job.tolist() == [job.pk]
    assert "made anew" in caplog.text
    assert read_file(path) is not None


@pytest.mark.usefixtures("outside")
def test_one_damaged_byte_in_the_file_is_noticed(caplog: pytest.LogCaptureFixture):
    a_return()
    shop_records(NOW)
    path = keeping.path_of_file()
    content = bytearray(path.read_bytes())
    with np.load(path) as arrays:
        place = content.find(arrays["jobs.taken_in_s"].tobytes())
    content[place + 3] ^= 0xFF
    path.write_bytes(content)
    assert read_file(path) is None
    assert "cannot be read" in caplog.text


@pytest.mark.usefixtures("outside")
def test_the_file_of_another_database_is_not_believed():
    a_return()
    snapshot = read_snapshot()
    foreign = replace(snapshot, stamp=replace(snapshot.stamp, database="sqlite elsewhere"))
    none = foreign.jobs.chosen(np.zeros(2, dtype=np.bool_))
    write_file(keeping.path_of_file(), replace(foreign, jobs=none))
    assert shop_records(NOW).returns.count == 1


def test_a_file_of_another_form_is_not_read(monkeypatch: pytest.MonkeyPatch):
    a_return()
    path = keeping.path_of_file()
    monkeypatch.setattr("turnwell.web.lives.records.file.FORM", "turnwell lives 0")
    write_file(path, read_snapshot())
    monkeypatch.undo()
    assert read_file(path) is None


def test_the_file_gives_back_what_was_written(tmp_path: Path):
    a_return()
    snapshot = read_snapshot()
    write_file(tmp_path / "kept.npz", snapshot)
    again = read_file(tmp_path / "kept.npz")
    assert again.stamp == snapshot.stamp
    assert told(again) == told(snapshot)
    assert [path.name for path in tmp_path.iterdir()] == ["kept.npz"]


@in_the_open
def test_one_thread_builds_and_the_others_wait_for_it(monkeypatch: pytest.MonkeyPatch):
    a_return()
    built = []
    plain = keeping.read_snapshot

    def counted(*arguments: object):
        built.append(1)
        return plain(*arguments)

    monkeypatch.setattr(keeping, "read_snapshot", counted)

    def ask(_: int) -> object:
        try:
            return shop_records(NOW)
        finally:
            connection.close()

    with ThreadPoolExecutor(4) as threads:
        found = list(threads.map(ask, range(8)))
    assert len(built) == 1
    assert all(records is found[0] for records in found)
