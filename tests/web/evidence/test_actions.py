"""Keeping and erasing received files."""

import errno
import os
import threading
from hashlib import sha256
from io import BytesIO
from pathlib import Path

import pytest
from django.conf import settings
from django.db import connection

from tests.people import bea_of_birch_lane, olga_the_owner, theo_the_technician
from tests.web.evidence.files import bomb_png, photo_with_place, silent_video, zip_of_text
from turnwell.errors import InputError, NotAllowedError, UnreadableFileError
from turnwell.web.evidence import kinds, storage
from turnwell.web.evidence.actions import erase_file, finish_erasures, store_file
from turnwell.web.evidence.models import StoredFile
from turnwell.web.evidence.queries import open_file

PDF = b"%PDF-1.7\n% an invented paper\n"
PAPER, PHOTO = StoredFile.Kind.PAPER, StoredFile.Kind.PHOTO

pytestmark = pytest.mark.django_db


def store(content=PDF, *, by=None, kind=PAPER, name="paper.pdf", **more):
    if isinstance(content, bytes):
        content = BytesIO(content)
    return store_file(
        by=by or theo_the_technician(), kind=kind, content=content, original_name=name, **more
    )


def bytes_of(file):
    with open_file(file) as content:
        return content.read()


def everything_kept():
    return [path for path in Path(settings.EVIDENCE_ROOT).rglob("*") if path.is_file()]


# SHA-256 of "abc", FIPS 180-4 example (NIST, "SHA-256 example, one-block message").
ABC = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"


def test_bytes_lie_under_their_sha256_and_are_as_received():
    assert storage.receive(BytesIO(b"abc"), "abc", 10).sha256 == ABC
    file = store()
    assert file.sha256 == sha256(PDF).hexdigest()
    expected = Path(settings.EVIDENCE_ROOT) / file.sha256[:2] / file.sha256
    assert expected.read_bytes() == PDF
    assert bytes_of(file) == PDF
    assert (file.size_bytes, file.media_type) == (len(PDF), "application/pdf")


def test_file_and_folder_are_synced_before_the_row_is_written(monkeypatch):
    calls = []
    real = os.fsync
    monkeypatch.setattr(os, "fsync", lambda fd: (calls.append("sync"), real(fd))[1])
    create = StoredFile.objects.create
    manager = StoredFile.objects
    monkeypatch.setattr(
        type(manager), "create", lambda self, **row: (calls.append("row"), create(**row))[1]
    )
    store()
    assert calls.count("sync") >= 2
    assert calls[-1] == "row"


def test_equal_bytes_are_kept_once():
    first, second = store(name="one.pdf"), store(name="two.pdf")
    assert first.pk != second.pk
    assert len(everything_kept()) == 1


@pytest.mark.django_db(transaction=True)
def test_erasing_keeps_bytes_that_another_file_needs():
    first, second = store(), store()
    erase_file(by=olga_the_owner(), file=first, why="sent twice")
    assert bytes_of(second) == PDF
    erased = erase_file(by=olga_the_owner(), file=second, why="not wanted")
    assert everything_kept() == []
    assert (erased.sha256, erased.erased_by, erased.erased_why) == (
        first.sha256,
        olga_the_owner(),
        "not wanted",
    )
    with pytest.raises(InputError, match=r"erased by olga .*not wanted"):
        open_file(StoredFile.objects.get(pk=second.pk))


@pytest.mark.django_db(transaction=True)
def test_erasing_removes_the_copies_too():
    file = store()
    copy = storage.copy_path(file.sha256, "page.jpg")
    copy.parent.mkdir(parents=True)
    copy.write_bytes(b"a copy")
    erase_file(by=olga_the_owner(), file=file, why="wrong file")
    assert not copy.exists()


def test_only_the_owner_and_the_receiver_erase():
    file = store(by=olga_the_owner())
    with pytest.raises(NotAllowedError, match="only the owner and olga"):
        erase_file(by=theo_the_technician(), file=file, why="why not")
    own = store(by=theo_the_technician())
    assert erase_file(by=theo_the_technician(), file=own, why="blurred").is_erased


@pytest.mark.parametrize("why", ["", "   ", "x" * 301, "two\nlines", "nul\0"])
def test_erasing_needs_a_reason(why):
    file = store()
    with pytest.raises(InputError, match="reason"):
        erase_file(by=olga_the_owner(), file=file, why=why)
    assert not StoredFile.objects.get(pk=file.pk).is_erased


def test_erasing_twice_is_refused():
    file = store()
    erase_file(by=olga_the_owner(), file=file, why="wrong file")
    with pytest.raises(InputError, match="erased already"):
        erase_file(by=olga_the_owner(), file=file, why="wrong file")


def test_people_of_an_office_send_nothing():
    with pytest.raises(NotAllowedError, match="not send any"):
        store(by=bea_of_birch_lane())
    assert everything_kept() == []


@pytest.mark.parametrize(
    ("kind", "name", "content", "says"),
    [
        (PAPER, "empty.pdf", b"", "empty.pdf” is empty"),
        (PAPER, "notes.pdf", b"plain text", "notes.pdf” is no PDF"),
        (PHOTO, "photo.jpg", zip_of_text(), "photo.jpg” is no photo"),
        (PHOTO, "bomb.png", bomb_png(), r"60,000 × 60,000 points, at most 64 million"),
        (PHOTO, "cut.jpg", photo_with_place()[:1_500], "cut.jpg” breaks off"),
        (StoredFile.Kind.RECORDING, "run.wav", zip_of_text(), "run.wav” cannot be read as a sound"),
        (StoredFile.Kind.RECORDING, "run.mp4", silent_video(), "run.mp4” is a video without sound"),
    ],
)
def test_what_is_refused_leaves_nothing(kind, name, content, says):
    with pytest.raises((InputError, UnreadableFileError), match=says):
        store(content, kind=kind, name=name)
    assert everything_kept() == []
    assert not StoredFile.objects.exists()


def test_a_file_over_the_bound_leaves_nothing(monkeypatch):
    monkeypatch.setitem(kinds.KINDS, PAPER, kinds.Rules(1_000, ""))
    with pytest.raises(InputError, match=r"paper.pdf” is larger than"):
        store(PDF + bytes(2_000))
    assert everything_kept() == []


class BrokenUpload:
    """Gives some bytes, then breaks off as a lost connection does."""

    def __init__(self, error):
        self.error = error
        self.left = 3

    def read(self, size=-1, /):
        self.left -= 1
        if self.left < 0:
            raise self.error
        return b"%PDF-" + bytes(1_000)


def test_a_broken_upload_leaves_nothing():
    with pytest.raises(InputError, match=r"paper\.pdf” broke off on its way; nothing was kept"):
        store(BrokenUpload(ConnectionResetError(errno.ECONNRESET, "Connection reset")))
    assert everything_kept() == []


def test_a_full_disk_leaves_nothing_and_says_so(monkeypatch):
    def no_space(descriptor):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", no_space)
    with pytest.raises(storage.CannotKeepError, match=r"is full; nothing of “paper\.pdf” was kept"):
        store()
    assert everything_kept() == []
    assert not StoredFile.objects.exists()


def test_a_disk_that_fills_up_at_the_last_step_leaves_nothing(monkeypatch):
    def no_space(self, target):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(Path, "replace", no_space)
    with pytest.raises(storage.CannotKeepError, match="is full"):
        store()
    assert everything_kept() == []
    assert not StoredFile.objects.exists()


@pytest.mark.parametrize(
    ("sent", "kept"),
    [
        ("../../etc/passwd.pdf", "passwd.pdf"),
        ("C:\\bench\\run.pdf", "run.pdf"),
        ("nul\0in the name.pdf", "nulin the name.pdf"),
        ("<b>bold</b>.pdf", "b>.pdf"),
        ('\'; drop table "x".pdf', '\'; drop table "x".pdf'),
        ("é" * 300 + ".pdf", "é" * 196 + ".pdf"),
        ("", ""),
    ],
)
def test_names_are_kept_without_folders_and_what_cannot_be_printed(sent, kept):
    file = store(name=sent)
    assert StoredFile.objects.get(pk=file.pk).original_name == kept


@pytest.mark.django_db(transaction=True)
def test_an_erasure_that_was_broken_off_is_finished(monkeypatch):
    file, needed = store(), store(PDF + b"needed")
    twin = store(PDF + b"needed")
    stranger = storage.path_of("ab" * 32)
    stranger.parent.mkdir(parents=True)
    stranger.write_bytes(b"of another database")
    with monkeypatch.context() as killed:
        killed.setattr("turnwell.web.evidence.actions._remove_if_unused", lambda digest: None)
        for erased in (file, twin):
            erase_file(by=olga_the_owner(), file=erased, why="wrong file")
    assert storage.path_of(file.sha256).exists()
    assert finish_erasures() == 1
    assert not storage.path_of(file.sha256).exists()
    assert bytes_of(needed) == PDF + b"needed"
    assert stranger.exists()
    assert finish_erasures() == 0


def test_damaged_and_missing_bytes_are_told_apart():
    whole, damaged, missing, short = (store(PDF + bytes([number])) for number in range(4))
    storage.path_of(damaged.sha256).write_bytes(PDF + b"\7")
    storage.path_of(missing.sha256).unlink()
    storage.path_of(short.sha256).write_bytes(PDF)
    found = [storage.fault_of(f.sha256, f.size_bytes) for f in (whole, damaged, missing, short)]
    assert found == [None, "damaged", "missing", "damaged"]


@pytest.mark.django_db(transaction=True)
def test_the_same_bytes_sent_and_erased_at_once_are_never_lost():
    theo, failures = theo_the_technician(), []
    olga = olga_the_owner()

    def send_and_erase(number):
        try:
            for _ in range(4):
                file = store(by=theo)
                if number % 2:
                    erase_file(by=olga, file=file, why="sent twice")
        except Exception as error:
            failures.append(error)
        finally:
            connection.close()

    threads = [threading.Thread(target=send_and_erase, args=(number,)) for number in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failures == []
    assert StoredFile.objects.living().count() == 8
    for file in StoredFile.objects.living():
        assert storage.fault_of(file.sha256, file.size_bytes) is None
