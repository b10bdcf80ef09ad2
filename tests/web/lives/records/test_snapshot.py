"""Each write changes the stamp, and what is brought up to date equals what is read whole."""

import ast
from collections.abc import Callable
from dataclasses import fields
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest

from tests.people import theo_the_technician
from tests.web.jobs.builders import a_handpiece, a_job, bring_to
from tests.web.lives.records.shop import day
from turnwell.web.handpieces import actions as handpiece_actions
from turnwell.web.handpieces.actions import HANDPIECE_FIELDS, HandpieceDetails
from turnwell.web.handpieces.models import Handpiece
from turnwell.web.jobs import actions
from turnwell.web.jobs.actions import Correction
from turnwell.web.jobs.models import Job, Stage
from turnwell.web.lives.records import stamp as stamps
from turnwell.web.lives.records.columns import Columns
from turnwell.web.lives.records.snapshot import Snapshot, brought_up_to_date, read_snapshot
from turnwell.web.lives.records.stamp import blocks_of, stamp_now
from turnwell.web.offices.actions import OFFICE_FIELDS, OfficeDetails, edit_office
from turnwell.web.offices.models import Office
from turnwell.web.visits.actions import VisitDetails, add_visit, take_back_visit
from turnwell.web.visits.models import Visit

pytestmark = pytest.mark.django_db
WEB = Path(stamps.__file__).parents[2]


def told(snapshot: Snapshot) -> dict[str, list[object]]:
    """Give every column with words in the place of their numbers."""
    words = snapshot.words
    spelled = {
        "jobs.cause": words.causes,
        "jobs.currency": words.currencies,
        "handpieces.kind": words.classes,
        "offices.zone": words.zones,
    }
    columns = {}
    for name in ("jobs", "handpieces", "offices", "visits", "job_blocks", "handpiece_blocks"):
        table = getattr(snapshot, name)
        for column in fields(table):
            values = getattr(table, column.name).tolist()
            names = spelled.get(f"{name}.{column.name}")
            if names is not None:
                values = [names[value] if value >= 0 else "" for value in values]
            columns[f"{name}.{column.name}"] = [repr(value) for value in values]
    return columns


def theo():
    return theo_the_technician()


def first_job() -> Job:
    return Job.objects.order_by("pk")[0]


def take_one_in() -> None:
    a_job(a_handpiece())


def move_on() -> None:
    bring_to(first_job(), Stage.TORN_DOWN)


def hand_back_unrepaired() -> None:
    actions.move_on(
        by=theo(), job=first_job(), to=Stage.HANDED_BACK_UNREPAIRED, reason="nobody wants it"
    )


def settle() -> None:
    actions.confirm_cause(by=theo(), job=first_job(), cause_key="moisture_corrosion")


def settle_anew() -> None:
    actions.confirm_cause(by=theo(), job=first_job(), cause_key="chemical_residue")


def take_cause_back() -> None:
    cause = first_job().causes.last()
    actions.take_back(by=theo(), entry=cause, reason="wrong handpiece")


def answer() -> None:
    bring_to(first_job(), Stage.AGREED)


def correct_the_price() -> None:
    option = first_job().options.last()
    actions.add_option(
        by=theo(),
        job=first_job(),
        kind="cartridge",
        parts_price=Decimal("70.00"),
        labour_price=Decimal("45.00"),
        warranty_months=6,
        correction=Correction(option, "typed wrong"),
    )


def take_option_back() -> None:
    actions.take_back(by=theo(), entry=first_job().options.last(), reason="never offered")


def _details(row: Handpiece, **changes: object) -> HandpieceDetails:
    return HandpieceDetails(**{name: getattr(row, name) for name in HANDPIECE_FIELDS} | changes)


def edit_handpiece() -> None:
    row = Handpiece.objects.order_by("pk")[0]
    details = _details(row, known_cycles=321, known_cycles_on=day(3).date())
    handpiece_actions.edit_handpiece(by=theo(), handpiece=row, details=details)


def move_handpiece() -> None:
    row = Handpiece.objects.order_by("pk")[0]
    other = Office.objects.create(name="Elsewhere")
    handpiece_actions.edit_handpiece(by=theo(), handpiece=row, details=_details(row, office=other))


def retire() -> None:
    idle = a_handpiece()
    handpiece_actions.retire_handpiece(by=theo(), handpiece=idle, on=day(9).date())


def put_back() -> None:
    row = Handpiece.objects.exclude(retired_on=None)[0]
    handpiece_actions.put_back_in_use(by=theo(), handpiece=row)


def visit() -> None:
    office = Office.objects.all()[0]
    add_visit(by=theo(), office=office, details=VisitDetails(day(5).date(), "Teaching", True))


def take_visit_back() -> None:
    take_back_visit(by=theo(), visit=Visit.objects.all()[0], reason="was cancelled")


def off_the_round() -> None:
    office = Office.objects.all()[0]
    said = {name: getattr(office, name) for name in OFFICE_FIELDS} | {"is_active": False}
    edit_office(by=theo(), office=office, details=OfficeDetails(**said))


def other_zone() -> None:
    office = Office.objects.all()[0]
    said = {name: getattr(office, name) for name in OFFICE_FIELDS}
    edit_office(
        by=theo(), office=office, details=OfficeDetails(**said | {"time_zone": "Asia/Tokyo"})
    )


def nothing() -> None:
    pass


# What was written before, and the write that must be seen.
WRITES = [
    (nothing, take_one_in),
    (nothing, move_on),
    (nothing, hand_back_unrepaired),
    (nothing, settle),
    (settle, settle_anew),
    (settle, take_cause_back),
    (nothing, answer),
    (answer, correct_the_price),
    (answer, take_option_back),
    (nothing, edit_handpiece),
    (nothing, move_handpiece),
    (nothing, retire),
    (retire, put_back),
    (nothing, visit),
    (visit, take_visit_back),
    (nothing, off_the_round),
    (nothing, other_zone),
]


@pytest.mark.parametrize(("before", "write"), WRITES, ids=lambda write: write.__name__)
def test_a_write_changes_the_stamp_and_is_seen(
    before: Callable[[], None], write: Callable[[], None], monkeypatch: pytest.MonkeyPatch
):
    # Blocks of two keys, so that some are read again and others are not.
    monkeypatch.setattr("turnwell.web.lives.records.stamp.BLOCK_BITS", 1)
    monkeypatch.setattr("turnwell.web.lives.records.snapshot.BLOCK_BITS", 1)
    for _ in range(5):
        a_job(a_handpiece())
    before()
    old = read_snapshot()
    write()
    after = brought_up_to_date(old)
    assert after.stamp.text != old.stamp.text
    assert told(after) != told(old)
    assert told(after) == told(read_snapshot())


def test_without_a_write_the_stamp_stays():
    a_job(a_handpiece())
    assert stamp_now() == stamp_now()


def test_only_changed_blocks_are_read(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr("turnwell.web.lives.records.stamp.BLOCK_BITS", 1)
    monkeypatch.setattr("turnwell.web.lives.records.snapshot.BLOCK_BITS", 1)
    for _ in range(6):
        a_job(a_handpiece())
    before = read_snapshot()
    settle()
    changed = blocks_of(Job).changed_from(before.job_blocks)
    assert changed.tolist() == [first_job().pk >> 1]
    # What lies in the other blocks is not looked at: a change past every action stays unseen.
    others = Job.objects.exclude(pk__in=[first_job().pk, first_job().pk ^ 1])
    others.update(known_cycles=77)
    after = brought_up_to_date(before)
    assert 77 not in after.jobs.cycles.tolist()


def test_a_price_is_that_of_the_option_as_it_was_corrected():
    a_job(a_handpiece())
    answer()
    correct_the_price()
    jobs = read_snapshot().jobs
    assert jobs.total.tolist() == [115.0]
    assert jobs.warranty_months.tolist() == [6]


def test_a_declined_estimate_has_no_price():
    job = bring_to(a_job(a_handpiece()), Stage.ESTIMATED)
    actions.answer_estimate(by=theo(), job=job, answer="declined", answered_by="Bea")
    jobs = read_snapshot().jobs
    assert np.isnan(jobs.total).all()
    assert jobs.option.tolist() == [-1]


def test_an_empty_book_is_read():
    Office.objects.all().delete()
    snapshot = read_snapshot()
    assert (snapshot.jobs.count, snapshot.handpieces.count, snapshot.offices.count) == (0, 0, 0)
    assert told(brought_up_to_date(snapshot)) == told(snapshot)


def test_moments_are_whole_seconds_and_days_count_from_1970():
    handpiece = a_handpiece(
        in_service_since=day(0).date(), known_cycles=5, known_cycles_on=day(1).date()
    )
    job = a_job(handpiece)
    Job.objects.filter(pk=job.pk).update(taken_in_at=day(2))
    snapshot = read_snapshot()
    assert snapshot.jobs.taken_in_s.tolist() == [int(day(2).timestamp())]
    assert snapshot.handpieces.since_day.tolist() == [19_723]
    assert snapshot.handpieces.counted_day.tolist() == [19_724]


def test_two_writes_of_a_handpiece_at_once_count_as_two():
    a_handpiece()
    first, second = (Handpiece.objects.get() for _ in range(2))
    for copy in (first, second):
        copy.note = "seen"
        copy.save(update_fields=["note"])
    assert Handpiece.objects.get().version == 3
    assert second.version == 3


# What may write rows past `save`: none of it touches a handpiece, nor a job but by its action.
PAST_SAVE = {"update", "bulk_create", "bulk_update", "update_or_create", "delete"}
WATCHED = {
    "Handpiece",
    "Job",
    "Visit",
    "Office",
    "ConfirmedCause",
    "EstimateAnswer",
    "EstimateOption",
}


def past_save(source: str) -> list[str]:
    """Give the calls that write rows of a watched model past its `save`."""
    found = []
    for node in ast.walk(ast.parse(source)):
        if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)):
            continue
        names = {part.id for part in ast.walk(node.func) if isinstance(part, ast.Name)}
        reached = {part.attr for part in ast.walk(node.func) if isinstance(part, ast.Attribute)}
        related = {"handpieces", "jobs", "causes", "answers", "options", "visits"}
        if node.func.attr in PAST_SAVE and (names & WATCHED or reached & related):
            found.append(f"{node.lineno}: {ast.unparse(node)}")
    return found


def test_nothing_writes_what_lives_hang_on_past_its_save():
    wrong = {
        str(path.relative_to(WEB)): calls
        for path in WEB.rglob("*.py")
        if "migrations" not in path.parts and (calls := past_save(path.read_text(encoding="utf-8")))
    }
    assert not wrong


def test_a_write_past_save_would_be_found():
    assert past_save("Handpiece.objects.filter(pk=1).update(note='')")
    assert past_save("office.handpieces.all().delete()")
    assert not past_save("Chair.objects.filter(pk=1).delete()")


def test_rows_may_come_in_any_order():
    texts = {"pk": "3,1,2", "cycles": "30,10,20", "word": "c,a,b"}
    columns = Columns(texts)
    assert columns.pk.tolist() == [1, 2, 3]
    assert columns.whole("cycles").tolist() == [10, 20, 30]
    assert columns.words("word") == ["a", "b", "c"]
    assert Columns(dict.fromkeys(texts)).words("word") == []
