"""The ranking of causes from a job's own records, and the records that answer findings."""

from datetime import date, timedelta

import pytest

from tests.people import theo_the_technician
from tests.web.jobs.builders import a_handpiece, a_job, a_model, bring_to
from turnwell.catalogue import load
from turnwell.cause import probabilities, table_for
from turnwell.cause.answers import Answers
from turnwell.web.jobs import actions
from turnwell.web.jobs.analysis.causes import answers_of, ladder_of
from turnwell.web.jobs.analysis.own_cases import office_counts, shop_counts
from turnwell.web.jobs.analysis.own_records import RecordAnswers, answers_from_records
from turnwell.web.jobs.models import Job, Stage
from turnwell.web.offices.models import Office
from turnwell.web.shared.ladders import shown_ladder

pytestmark = pytest.mark.django_db

BACK = Stage.HANDED_BACK


def shift(job: Job, days: float) -> Job:
    """Move a closed job back in time, as if it had happened then."""
    by = timedelta(days=days)
    Job.objects.filter(pk=job.pk).update(
        taken_in_at=job.taken_in_at - by,
        ended_at=job.stage_since - by,
        stage_since=job.stage_since - by,
    )
    job.refresh_from_db()
    return job


def records_say(job: Job, *seen: str) -> RecordAnswers:
    return answers_from_records(job, frozenset(seen))


@pytest.mark.parametrize(
    ("days", "cycles", "seen"),
    [(59, None, True), (61, None, False), (300, 99, True), (300, 100, False)],
)
def test_repaired_lately_counts_days_or_cycles(days: float, cycles: int | None, seen: bool) -> None:
    count = {} if cycles is None else {"known_cycles": 1000}
    before = shift(bring_to(a_job(**count), BACK), days)
    count = {} if cycles is None else {"known_cycles": 1000 + cycles}
    told = records_say(a_job(before.handpiece, **count))

    assert ("repaired_lately" in told.seen) is seen
    assert ("repaired_lately" in told.not_seen) is not seen


def test_nobody_knows_of_repairs_elsewhere() -> None:
    told = records_say(a_job())

    assert "repaired_lately" not in told.seen + told.not_seen
    assert "many_cycles" not in told.seen + told.not_seen


@pytest.mark.parametrize(("cycles", "seen"), [(501, True), (500, None), (None, None)])
def test_many_cycles_by_count(cycles: int | None, seen: bool | None) -> None:
    told = records_say(a_job(known_cycles=cycles))

    assert ("many_cycles" in told.seen) is bool(seen)
    assert "many_cycles" not in told.not_seen


@pytest.mark.parametrize(("days", "seen"), [(366, True), (300, False)])
def test_many_cycles_by_time_since_the_rebuild(days: float, seen: bool) -> None:
    before = shift(bring_to(a_job(), BACK), days)
    told = records_say(a_job(before.handpiece))

    assert ("many_cycles" in told.seen) is seen


def test_many_cycles_by_time_since_it_was_new() -> None:
    old = a_handpiece(in_service_since=date.today() - timedelta(days=800))  # noqa: DTZ011  (a day)

    assert "many_cycles" in records_say(a_job(old)).seen


def test_several_fail_together_needs_the_same_finding_in_the_same_office() -> None:
    by = theo_the_technician()
    other, job = a_job(), a_job()
    actions.write_finding(by=by, job=other, key="rust_on_bearings", answer="seen")

    assert "several_fail_together" in records_say(job, "rust_on_bearings").seen
    assert "several_fail_together" in records_say(job, "cage_broken").not_seen
    nothing_seen = records_say(job)
    assert "several_fail_together" not in nothing_seen.seen + nothing_seen.not_seen


def test_another_office_does_not_fail_together() -> None:
    elsewhere = Office.objects.create(name="Elm Row")
    other, job = a_job(a_handpiece(office=elsewhere)), a_job()
    actions.write_finding(
        by=theo_the_technician(), job=other, key="rust_on_bearings", answer="seen"
    )

    assert "several_fail_together" in records_say(job, "rust_on_bearings").not_seen


def test_the_ladder_is_the_core_s_on_what_was_answered() -> None:
    by = theo_the_technician()
    job = a_job(complaints=["leaks_water_or_air"])
    actions.write_finding(by=by, job=job, key="leak_found", answer="seen")
    actions.write_finding(by=by, job=job, key="o_rings_hard", answer="seen")
    table = table_for(load(), job.handpiece.class_key)
    answers = answers_of(job, table)

    assert (answers.complaints, answers.seen) == (
        ("leaks_water_or_air",),
        ("leak_found", "o_rings_hard"),
    )
    ladder = ladder_of(job)
    assert ladder.first.key == "seals_hardened"
    expected = probabilities(table, answers).max()
    assert ladder.first.probability == pytest.approx(expected)


def test_what_the_records_answer_says_that_it_is_from_the_book() -> None:
    job = a_job(a_handpiece(), known_cycles=2000)
    actions.write_finding(by=theo_the_technician(), job=job, key="rust_on_bearings", answer="seen")
    rungs = shown_ladder(ladder_of(job)).rungs
    said = {words for rung in rungs for words in (*rung.evidence_for, *rung.evidence_against)}

    many, rust = (load().findings[key].name for key in ("many_cycles", "rust_on_bearings"))
    assert f"{many} (from the book)" in said
    assert rust in said


def test_what_a_person_saw_outranks_the_reading() -> None:
    by = theo_the_technician()
    job = a_job(a_handpiece(model=a_model()))
    bring_to(job, Stage.TESTED_AS_RECEIVED)
    table = table_for(load(), job.handpiece.class_key)
    # bring_to measures 341,000 rpm against a label of 400,000 ± 10 %
    assert "speed_low_at_label" in answers_of(job, table).seen

    actions.write_finding(by=by, job=job, key="speed_low_at_label", answer="not_seen")
    assert "speed_low_at_label" in answers_of(job, table).not_seen


def test_a_key_the_catalogue_lost_does_not_break_the_ranking() -> None:
    job = a_job()
    job.complaints = ["rattles_or_rough", "gone_from_the_catalogue"]
    job.save()
    table = table_for(load(), job.handpiece.class_key)

    assert answers_of(job, table) == Answers(complaints=("rattles_or_rough",))


def a_case(cause: str, *, view: str | None = None, ladder: bool = False, days: float = 30) -> Job:
    """Give a closed job with a confirmed cause, some days ago."""
    by = theo_the_technician()
    job = bring_to(a_job(), Stage.TORN_DOWN)
    actions.write_finding(by=by, job=job, key="cage_broken", answer="seen")
    if view is not None:
        actions.write_own_view(by=by, job=job, cause_key=view)
    if ladder:
        actions.show_ladder(by=by, job=job)
    actions.confirm_cause(by=by, job=job, cause_key=cause)
    actions.move_on(by=by, job=job, to=Stage.HANDED_BACK_UNREPAIRED, reason="too dear")
    return shift(job, days)


def test_own_cases_are_counted_by_what_they_are_worth() -> None:
    a_case("light_failed")
    a_case("drop_or_blow", view="drop_or_blow", ladder=True)
    first = ladder_of(a_job()).first.key
    agreed = a_case(first, view="", ladder=True)
    ladder = agreed.ladders.get()
    assert ladder.record["causes"][0]["key"] == first

    counts = shop_counts(a_job())
    expected = {"light_failed": 1.0, "drop_or_blow": 1.0}
    assert counts.causes == expected | {first: expected.get(first, 0.0) + 0.5}
    assert counts.seen["cage_broken", "light_failed"] == 1.0


def test_neither_open_jobs_nor_other_groups_are_counted() -> None:
    by = theo_the_technician()
    still_open = bring_to(a_job(), Stage.TORN_DOWN)
    actions.confirm_cause(by=by, job=still_open, cause_key="worn_out")
    a_case("worn_out")
    motor = a_job(a_handpiece(class_key="low_speed_air_motor"))

    assert shop_counts(motor).total == 0
    assert shop_counts(a_job()).causes == {"worn_out": 1.0}


def test_the_office_s_own_cases_are_those_of_two_years() -> None:
    a_case("worn_out", days=800)
    a_case("drop_or_blow", days=100)
    job = a_job()

    assert office_counts(job).causes == {"drop_or_blow": 1.0}
    elsewhere = Office.objects.create(name="Elm Row")
    assert office_counts(a_job(a_handpiece(office=elsewhere))).total == 0


def test_the_ladder_moves_with_own_cases() -> None:
    before = ladder_of(a_job()).rung("worn_out").probability
    for _ in range(3):
        a_case("worn_out")

    assert ladder_of(a_job()).rung("worn_out").probability > before
