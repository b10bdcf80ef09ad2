"""Files on their way into the book: kept, read once, gone on with after a stop."""

from datetime import UTC, datetime, timedelta
from io import BytesIO
from pathlib import Path

import pytest

from tests.people import bea_of_birch_lane, theo_the_technician
from tests.web.sterilizers.builders import a_plan, a_record, a_sterilizer, csv_of, read_as
from turnwell.errors import NotAllowedError, UnreadableFileError
from turnwell.web.evidence import storage
from turnwell.web.evidence.bounded import BusyError
from turnwell.web.evidence.models import StoredFile
from turnwell.web.sterilizers import actions
from turnwell.web.sterilizers.actions import intake as intake_actions
from turnwell.web.sterilizers.actions import layouts
from turnwell.web.sterilizers.actions.intake import ABANDONED, Arrived
from turnwell.web.sterilizers.actions.layouts import Freed
from turnwell.web.sterilizers.analysis.reading import Asks
from turnwell.web.sterilizers.models import CycleRecord, Intake, IntakeFile

pytestmark = pytest.mark.django_db
State = IntakeFile.State


@pytest.fixture
def answers(monkeypatch):
    """Let the core give these answers in turn; an exception is raised."""
    asked = []

    def set_up(*given):
        left = list(given)

        def review(file, sterilizer, **known):
            asked.append((file, known))
            answer = left.pop(0)
            if isinstance(answer, Exception):
                raise answer
            return answer

        monkeypatch.setattr(intake_actions, "review_file", review)
        monkeypatch.setattr(layouts, "review_file", review)
        return asked

    return set_up


def an_intake(*contents: bytes, sterilizer=None) -> Intake:
    begun = actions.begin_intake(by=theo_the_technician(), sterilizer=sterilizer or a_sterilizer())
    files = [Arrived(f"run-{place}.csv", BytesIO(one)) for place, one in enumerate(contents)]
    actions.add_files(by=theo_the_technician(), intake=begun, files=files)
    return begun


def states(begun: Intake) -> list[str]:
    return list(begun.files.values_list("state", flat=True))


def test_a_file_waits_and_is_read_with_what_is_known_of_the_sterilizer(answers):
    sterilizer = a_sterilizer()
    plan = a_plan(sterilizer)
    begun = an_intake(csv_of(1), sterilizer=sterilizer)
    assert states(begun) == [State.WAITING]
    asked = answers(read_as())
    row = actions.work_off()
    assert asked[0][1] == {"layouts": [], "plan": plan}
    assert states(begun) == [State.READ]
    assert row.record == CycleRecord.objects.get()
    assert row.record.entered_by == theo_the_technician()
    assert actions.work_off() is None


def test_what_is_in_the_book_or_came_twice_is_known_by_its_content():
    sterilizer = a_sterilizer()
    a_record(sterilizer, number=1)
    begun = an_intake(csv_of(1), csv_of(2), csv_of(2), sterilizer=sterilizer)
    assert states(begun) == [State.DUPLICATE, State.WAITING, State.DUPLICATE]
    # Neither of the two leaves a second row of the same bytes.
    assert StoredFile.objects.count() == 2


def test_a_duplicate_leaves_the_bytes_of_the_first_alone(django_capture_on_commit_callbacks):
    sterilizer = a_sterilizer()
    record = a_record(sterilizer, number=1)
    with django_capture_on_commit_callbacks(execute=True):
        an_intake(csv_of(1), sterilizer=sterilizer)
    assert storage.path_of(record.sha256).is_file()


def test_a_file_that_cannot_be_read_leaves_its_name_and_nothing_else(
    answers, django_capture_on_commit_callbacks
):
    begun = an_intake(csv_of(1))
    path = storage.path_of(begun.files.get().file.sha256)
    answers(UnreadableFileError("run-0.csv has one row; a run has hundreds"))
    with django_capture_on_commit_callbacks(execute=True):
        actions.work_off()
    row = begun.files.get()
    assert (row.state, row.file) == (State.REFUSED, None)
    assert row.says == "run-0.csv has one row; a run has hundreds"
    assert not StoredFile.objects.exists()
    assert not Path(path).exists()


def test_one_bad_file_does_not_keep_the_others():
    begun = an_intake(csv_of(1), b"", b"\x89PNG\0\0\0\0", csv_of(2))
    assert states(begun) == [State.WAITING, State.REFUSED, State.REFUSED, State.WAITING]
    assert "is empty" in begun.files.all()[1].says


def test_a_file_whose_columns_are_open_asks_and_is_read_once_they_are_confirmed(answers):
    begun = an_intake(csv_of(1))
    answers(Asks({"rows": [["0", "20"]]}, "Which column is the pressure?"), read_as(), read_as())
    actions.work_off()
    row = begun.files.get()
    assert (row.state, row.proposal) == (State.ASKS, {"rows": [["0", "20"]]})
    assert row.says == "Which column is the pressure?"
    assert actions.work_off() is None
    freed = actions.confirm_layout(
        by=theo_the_technician(),
        sterilizer=begun.sterilizer,
        layout={"time_column": 1},
        tried_on=row.file,
    )
    assert freed == Freed(read=1, asking=0)
    actions.work_off()
    assert states(begun) == [State.READ]
    assert begun.sterilizer.layouts.get().confirmed_by == theo_the_technician()


def test_a_file_waits_again_where_every_process_is_busy(answers):
    begun = an_intake(csv_of(1))
    answers(BusyError("busy"), read_as())
    with pytest.raises(BusyError):
        actions.work_off()
    assert states(begun) == [State.WAITING]
    actions.work_off()
    assert states(begun) == [State.READ]


def test_a_fault_of_the_program_does_not_stop_the_files_behind_it(answers):
    begun = an_intake(csv_of(1), csv_of(2))
    answers(RuntimeError("a worker failed"), read_as())
    with pytest.raises(RuntimeError):
        actions.work_off()
    actions.work_off()
    assert states(begun) == [State.REFUSED, State.READ]
    assert begun.files.first().file is not None


def test_a_claim_that_a_stopped_server_left_is_free_again(answers):
    begun = an_intake(csv_of(1), csv_of(2))
    now = datetime(2026, 5, 8, 12, tzinfo=UTC)
    begun.files.update(state=State.READING, since=now - timedelta(seconds=20))
    assert actions.resume(now) == 0
    assert actions.resume(now + ABANDONED) == 2
    answers(read_as(), read_as())
    while actions.work_off():
        pass
    assert states(begun) == [State.READ, State.READ]


def test_a_file_is_never_read_by_two(answers, monkeypatch):
    """The second reader finds the row claimed between its look and its claim."""
    begun = an_intake(csv_of(1), csv_of(2))
    first, second = begun.files.all()
    looked = IntakeFile.objects.filter(state=State.WAITING).order_by("pk").first()
    assert looked == first
    IntakeFile.objects.filter(pk=first.pk).update(state=State.READING)
    answers(read_as())
    assert actions.work_off().pk == second.pk
    assert actions.work_off() is None


def test_the_same_record_under_two_names_comes_in_once(answers):
    """Two files with the same content, of which one arrived before the other was known."""
    begun = an_intake(csv_of(1))
    row = begun.files.get()
    a_record(begun.sterilizer, number=1)
    answers(read_as())
    actions.work_off()
    row.refresh_from_db()
    assert (row.state, row.record) == (State.DUPLICATE, None)
    assert CycleRecord.objects.count() == 1


def test_an_office_sends_no_file():
    sterilizer = a_sterilizer()
    with pytest.raises(NotAllowedError):
        actions.begin_intake(by=bea_of_birch_lane(), sterilizer=sterilizer)
