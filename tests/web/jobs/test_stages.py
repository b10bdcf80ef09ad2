"""The way of a job from stage to stage."""

from datetime import timedelta

import pytest
from django.utils import timezone

from tests.people import bea_of_birch_lane, theo_the_technician
from tests.web.jobs.builders import WAY, a_blank_test, a_handpiece, a_job, bring_to, measure_speed
from turnwell.errors import (
    ChangedMeanwhileError,
    InputError,
    NotAllowedError,
    StageError,
)
from turnwell.web.jobs import actions
from turnwell.web.jobs.models import Job, Stage, Test, Waiting
from turnwell.web.jobs.steps import STEPS, next_steps

pytestmark = pytest.mark.django_db


def move(job: Job, to: Stage, reason: str = "", **more: object) -> Job:
    return actions.move_on(by=theo_the_technician(), job=job, to=to, reason=reason, **more)


def test_a_fault_goes_the_whole_way() -> None:
    job = bring_to(a_job(), Stage.HANDED_BACK)

    job.refresh_from_db()
    assert job.stage == Stage.HANDED_BACK
    assert job.ended_at == job.stage_since
    assert [step.to_stage for step in job.stage_changes.all()] == [Stage.TAKEN_IN, *WAY]
    assert next_steps(job) == ()


def test_the_handpiece_can_come_back_after_it_went_home() -> None:
    job = bring_to(a_job(), Stage.HANDED_BACK)

    assert a_job(job.handpiece).stage == Stage.TAKEN_IN


@pytest.mark.parametrize("stage", [Stage.TAKEN_IN, *WAY])
def test_no_step_leads_where_the_table_has_none(stage: Stage) -> None:
    job = a_job()
    if stage != Stage.TAKEN_IN:
        bring_to(job, stage)
    allowed = {step.to for step in STEPS if step.start == stage and job.reason in step.reasons}
    for to in set(Stage) - allowed:
        with pytest.raises(StageError, match="no step leads"):
            move(job, to, "because")


@pytest.mark.parametrize(
    ("stage", "to", "said"),
    [
        (Stage.TAKEN_IN, Stage.TESTED_AS_RECEIVED, "test it as received"),
        (Stage.TESTED_AS_RECEIVED, Stage.ESTIMATED, "at least one option"),
        (Stage.ESTIMATED, Stage.AGREED, "the office's answer"),
        (Stage.AGREED, Stage.REBUILT, "nothing replaced"),
        (Stage.REBUILT, Stage.PROVED, "final test"),
        (Stage.TAKEN_IN, Stage.HANDED_BACK_UNREPAIRED, "write why"),
        (Stage.REBUILT, Stage.TORN_DOWN, "write why"),
    ],
)
def test_a_step_waits_for_what_it_needs(stage: Stage, to: Stage, said: str) -> None:
    job = a_job()
    if stage != Stage.TAKEN_IN:
        bring_to(job, stage)
    with pytest.raises(StageError, match=said):
        move(job, to)
    job.refresh_from_db()
    assert job.stage == stage


def test_an_empty_set_up_is_no_test() -> None:
    job = a_job()
    a_blank_test(job)

    with pytest.raises(StageError, match="test it as received"):
        move(job, Stage.TESTED_AS_RECEIVED)


def test_a_written_reason_stands_in_for_the_test() -> None:
    job = a_job()
    actions.leave_out_test(
        by=theo_the_technician(), job=job, when=Test.When.AS_RECEIVED, because="seized"
    )

    assert move(job, Stage.TESTED_AS_RECEIVED).stage == Stage.TESTED_AS_RECEIVED


def test_a_test_taken_back_no_longer_counts() -> None:
    job = a_job()
    test = a_blank_test(job)
    measure_speed(test)
    actions.take_back(by=theo_the_technician(), entry=test, reason="wrong handpiece")

    with pytest.raises(StageError, match="test it as received"):
        move(job, Stage.TESTED_AS_RECEIVED)


def test_a_no_does_not_agree() -> None:
    job = bring_to(a_job(), Stage.ESTIMATED)
    actions.answer_estimate(by=theo_the_technician(), job=job, answer="declined", answered_by="Bea")

    with pytest.raises(StageError, match="declined"):
        move(job, Stage.AGREED)
    assert move(job, Stage.HANDED_BACK_UNREPAIRED, "office declined").ended_at is not None


def test_an_answer_to_an_earlier_estimate_does_not_count_for_the_next() -> None:
    job = bring_to(a_job(), Stage.AGREED)
    move(job, Stage.ESTIMATED, "the chuck is gone too")

    with pytest.raises(StageError, match="the office's answer"):
        move(job, Stage.AGREED)


def test_nothing_replaced_is_enough_in_words() -> None:
    job = bring_to(a_job(), Stage.AGREED)

    assert move(job, Stage.REBUILT, "Nothing replaced, cleaned and oiled").stage == Stage.REBUILT


@pytest.mark.parametrize(
    ("set_up", "said"),
    [
        ({"mounted": Test.Mounted.BUR}, "in the chuck"),
        ({"is_spray_on": True}, "spray"),
        ({"stand": "in the hand"}, "stand"),
        ({"drive_pressure_kpa": 260.0}, "drive pressure"),
        ({"drive_pressure_kpa": None}, "one test only"),
    ],
)
def test_another_set_up_proves_nothing(set_up: dict[str, object], said: str) -> None:
    job = bring_to(a_job(), Stage.REBUILT)
    measure_speed(a_blank_test(job, Test.When.FINAL, **set_up))

    with pytest.raises(StageError, match=said):
        move(job, Stage.PROVED)
    assert move(job, Stage.PROVED, "the stand broke").stage == Stage.PROVED


def test_a_pressure_within_the_tolerance_is_the_same() -> None:
    job = bring_to(a_job(), Stage.REBUILT)
    measure_speed(a_blank_test(job, Test.When.FINAL, drive_pressure_kpa=245.0))

    assert move(job, Stage.PROVED).stage == Stage.PROVED


def test_a_final_test_from_before_the_rework_does_not_prove_it() -> None:
    job = bring_to(a_job(), Stage.PROVED)
    move(job, Stage.TORN_DOWN, "rattles again")
    move(job, Stage.ESTIMATED)
    actions.answer_estimate(
        by=theo_the_technician(),
        job=job,
        answer="agreed",
        option=job.options.last(),
        answered_by="Bea",
    )
    move(job, Stage.AGREED)
    move(job, Stage.REBUILT)

    with pytest.raises(StageError, match="final test"):
        move(job, Stage.PROVED)


@pytest.mark.parametrize("reason", [Job.Reason.TEST_ONLY, Job.Reason.BACK_FROM_LOAN])
def test_a_test_only_goes_home_after_the_test(reason: Job.Reason) -> None:
    job = bring_to(a_job(reason=reason, complaints=[]), Stage.TESTED_AS_RECEIVED)

    assert move(job, Stage.HANDED_BACK).stage == Stage.HANDED_BACK


def test_a_fault_does_not_go_home_repaired_after_the_test() -> None:
    job = bring_to(a_job(), Stage.TESTED_AS_RECEIVED)

    with pytest.raises(StageError, match="no step leads"):
        move(job, Stage.HANDED_BACK)


def test_a_planned_service_skips_the_estimate() -> None:
    job = bring_to(a_job(reason=Job.Reason.PLANNED, complaints=[]), Stage.TORN_DOWN)

    assert move(job, Stage.REBUILT, "nothing replaced").stage == Stage.REBUILT


def test_two_tabs_do_not_overwrite_each_other() -> None:
    job = a_job()
    seen = job.version
    actions.write_note(by=theo_the_technician(), job=job, text="from the other tab", version=seen)

    with pytest.raises(ChangedMeanwhileError, match=job.code):
        move(job, Stage.HANDED_BACK_UNREPAIRED, "wanted back", version=seen)
    job.refresh_from_db()
    assert (job.stage, job.version) == (Stage.TAKEN_IN, seen + 1)


def test_people_of_an_office_may_not_move_a_job() -> None:
    job = a_job()

    with pytest.raises(NotAllowedError):
        actions.move_on(by=bea_of_birch_lane(), job=job, to=Stage.HANDED_BACK_UNREPAIRED)


@pytest.mark.parametrize("days", [1, -1])
def test_a_step_is_neither_in_the_future_nor_before_the_last(days: int) -> None:
    job = a_job()

    with pytest.raises(InputError, match=r"future|before"):
        move(
            job,
            Stage.HANDED_BACK_UNREPAIRED,
            "wanted back",
            at=timezone.now() + timedelta(days=days),
        )


def test_an_estimate_waits_for_the_answer_and_the_answer_ends_it() -> None:
    job = bring_to(a_job(), Stage.ESTIMATED)
    assert (job.waiting_for, job.waiting_owner) == (Waiting.ANSWER, "Birch Lane")

    actions.answer_estimate(
        by=theo_the_technician(),
        job=job,
        answer="agreed",
        option=job.options.last(),
        answered_by="Bea",
    )
    assert job.waiting_for == Waiting.NOTHING


def test_waiting_for_parts_stands_beside_the_stage() -> None:
    job = bring_to(a_job(), Stage.AGREED)
    actions.wait_for(
        by=theo_the_technician(), job=job, what=Waiting.PARTS, owner="supplier of cartridges"
    )
    assert (job.stage, job.waiting_for) == (Stage.AGREED, Waiting.PARTS)

    actions.stop_waiting(by=theo_the_technician(), job=job)
    assert (job.waiting_for, job.waiting_since) == (Waiting.NOTHING, None)


@pytest.mark.parametrize(("what", "owner"), [("", "x"), ("rain", "x"), (Waiting.PARTS, " ")])
def test_waiting_names_what_and_who(what: str, owner: str) -> None:
    with pytest.raises(InputError):
        actions.wait_for(by=theo_the_technician(), job=a_job(), what=what, owner=owner)


def test_a_closed_job_waits_for_nothing() -> None:
    job = bring_to(a_job(), Stage.HANDED_BACK)
    with pytest.raises(StageError, match="closed"):
        actions.wait_for(by=theo_the_technician(), job=job, what=Waiting.PARTS, owner="x")


def test_a_reading_outside_does_not_prove_the_repair() -> None:
    from tests.web.jobs.builders import a_model

    job = bring_to(a_job(a_handpiece(model=a_model())), Stage.REBUILT)
    measure_speed(a_blank_test(job, Test.When.FINAL), 300_000.0, 301_000.0, 302_000.0)

    with pytest.raises(StageError, match="Free-running speed"):
        move(job, Stage.PROVED)
    assert move(job, Stage.PROVED, "the office wants it so").stage == Stage.PROVED
