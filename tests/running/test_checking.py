"""``turnwell check`` finds what is lost, changed or loose, and says so by its exit code."""

import hashlib

from tests.running.book import Book


def test_a_sound_book(made_book: Book):
    done = made_book.run("check")
    assert done.returncode == 0
    assert "All is well: 2 stored files read." in done.stdout


def test_missing_damaged_and_orphaned_bytes(book: Book):
    gone, changed = book.evidence
    gone.unlink()
    changed.write_bytes(changed.read_bytes()[:-1] + b"?")
    digest = hashlib.sha256(b"of no row").hexdigest()
    (book.home / "evidence" / digest[:2]).mkdir(exist_ok=True)
    (book.home / "evidence" / digest[:2] / digest).write_bytes(b"of no row")
    report = book.report()
    assert report["missing"] == [gone.name]
    assert report["damaged"] == [changed.name]
    assert report["orphans"] == [digest]
    assert report["sound"] is False
    assert book.run("check").returncode == 1


def test_orphans_alone_do_no_harm(book: Book):
    book.ask("DELETE FROM evidence_storedfile")
    report = book.report()
    assert (len(report["orphans"]), report["sound"]) == (2, True)


def test_a_row_that_points_nowhere(book: Book):
    book.ask("UPDATE jobs_job SET office_id = 999")
    report = book.report()
    assert report["loose"] == ["jobs_job row 1 -> offices_office"]
    assert report["sound"] is False


def test_erased_bytes_are_not_missed(book: Book):
    gone, _ = book.evidence
    gone.unlink()
    book.ask(
        "UPDATE evidence_storedfile SET erased_at = received_at, erased_by_id = received_by_id,"
        " erased_why = 'asked' WHERE sha256 = ?",
        gone.name,
    )
    assert book.report()["sound"] is True


def test_a_migration_not_applied(book: Book):
    book.ask("DELETE FROM django_migrations WHERE app = 'sessions'")
    report = book.report()
    assert report["migrations"] == ["sessions.0001_initial"]
    assert report["sound"] is False


def test_a_database_of_a_newer_version_is_one_sentence(book: Book):
    book.ask(
        "INSERT INTO django_migrations (app, name, applied) VALUES ('jobs', '9999_later', '2030')"
    )
    done = book.run("check")
    assert done.returncode == 1
    assert "jobs.9999_later is not known to this one" in done.stderr


def test_no_data_folder_is_one_sentence_and_makes_none(empty: Book):
    done = empty.run("check")
    assert (done.returncode, done.stderr.count("\n")) == (1, 1)
    assert not empty.home.exists()
