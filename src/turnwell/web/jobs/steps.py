"""The steps a job may take from stage to stage, and what each needs before it is taken.

A fault goes the whole way. A planned service was agreed when it was planned, so it may skip the
estimate. A job that is a test only, or a handpiece back from loan, may go home once it was tested.
A step back, and every end without a repair, needs its reason in words.
"""

from collections.abc import Callable
from dataclasses import dataclass

from turnwell.measure import Verdict
from turnwell.web.jobs.models import EstimateAnswer, Job, Stage, Test
from turnwell.web.jobs.set_ups import set_up_differences
from turnwell.web.jobs.tests_on_file import TestOnFile, standing_tests, with_evidence
from turnwell.words import text_of

__all__ = ["NOTHING_REPLACED", "STEPS", "Step", "missing_for", "next_steps", "step_between"]

Reason = Job.Reason
EVERY_REASON = frozenset(Reason)
NOTHING_REPLACED = "nothing replaced"


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the table.

    Parameters
    ----------
    start, to : Stage
        From where to where.
    needs : str
        Key of `NEEDS`, or empty.
    needs_reason : bool
        True where the step is not taken without words.
    reasons : frozenset of Job.Reason
        For which jobs the step exists.
    """

    start: Stage
    to: Stage
    needs: str = ""
    needs_reason: bool = False
    reasons: frozenset[Job.Reason] = EVERY_REASON


AGREED_BEFOREHAND = frozenset({Reason.PLANNED, Reason.BACK_FROM_LOAN})
TEST_ENOUGH = frozenset({Reason.TEST_ONLY, Reason.BACK_FROM_LOAN, Reason.PLANNED})

# The first step from a stage is the one the page offers first.
STEPS: tuple[Step, ...] = (
    Step(Stage.TAKEN_IN, Stage.TESTED_AS_RECEIVED, needs="test_as_received"),
    Step(Stage.TAKEN_IN, Stage.HANDED_BACK_UNREPAIRED, needs_reason=True),
    Step(Stage.TESTED_AS_RECEIVED, Stage.TORN_DOWN),
    Step(Stage.TESTED_AS_RECEIVED, Stage.ESTIMATED, needs="option"),
    Step(Stage.TESTED_AS_RECEIVED, Stage.HANDED_BACK, reasons=TEST_ENOUGH),
    Step(Stage.TESTED_AS_RECEIVED, Stage.REBUILT, needs="part", reasons=AGREED_BEFOREHAND),
    Step(Stage.TESTED_AS_RECEIVED, Stage.NOT_WORTH_REPAIRING, needs_reason=True),
    Step(Stage.TESTED_AS_RECEIVED, Stage.HANDED_BACK_UNREPAIRED, needs_reason=True),
    Step(Stage.TORN_DOWN, Stage.ESTIMATED, needs="option"),
    Step(Stage.TORN_DOWN, Stage.REBUILT, needs="part", reasons=AGREED_BEFOREHAND),
    Step(Stage.TORN_DOWN, Stage.NOT_WORTH_REPAIRING, needs_reason=True),
    Step(Stage.TORN_DOWN, Stage.HANDED_BACK_UNREPAIRED, needs_reason=True),
    Step(Stage.ESTIMATED, Stage.AGREED, needs="yes"),
    Step(Stage.ESTIMATED, Stage.TORN_DOWN, needs_reason=True),
    Step(Stage.ESTIMATED, Stage.NOT_WORTH_REPAIRING, needs_reason=True),
    Step(Stage.ESTIMATED, Stage.HANDED_BACK_UNREPAIRED, needs_reason=True),
    Step(Stage.AGREED, Stage.REBUILT, needs="part"),
    Step(Stage.AGREED, Stage.ESTIMATED, needs="option", needs_reason=True),
    Step(Stage.AGREED, Stage.NOT_WORTH_REPAIRING, needs_reason=True),
    Step(Stage.AGREED, Stage.HANDED_BACK_UNREPAIRED, needs_reason=True),
    Step(Stage.REBUILT, Stage.PROVED, needs="proof"),
    Step(Stage.REBUILT, Stage.TORN_DOWN, needs_reason=True),
    Step(Stage.REBUILT, Stage.NOT_WORTH_REPAIRING, needs_reason=True),
    Step(Stage.PROVED, Stage.HANDED_BACK),
    Step(Stage.PROVED, Stage.TORN_DOWN, needs_reason=True),
    Step(Stage.NOT_WORTH_REPAIRING, Stage.HANDED_BACK_UNREPAIRED),
    Step(Stage.NOT_WORTH_REPAIRING, Stage.ESTIMATED, needs="option", needs_reason=True),
)


def next_steps(job: Job) -> tuple[Step, ...]:
    """Give the steps a job may take from where it is, the usual one first."""
    return tuple(step for step in STEPS if step.start == job.stage and job.reason in step.reasons)


def step_between(job: Job, to: Stage) -> Step | None:
    """Give the step that leads a job to a stage, or None where there is none."""
    return next((step for step in next_steps(job) if step.to == to), None)


def missing_for(job: Job, step: Step, reason: str = "") -> str:
    """Say what is still missing before a step can be taken; empty where nothing is.

    Parameters
    ----------
    job : Job
        At the step's start.
    step : Step
        One of the job's `next_steps`.
    reason : str
        What the person wrote beside the step.
    """
    if step.needs_reason and not reason:
        return f"write why the job goes to {step.to.label.lower()!r}"
    return NEEDS[step.needs](job, reason) if step.needs else ""


def _test_as_received(job: Job, reason: str) -> str:  # noqa: ARG001  (all needs are called alike)
    if with_evidence(standing_tests(job), Test.When.AS_RECEIVED):
        return ""
    return "test it as received (a recording or a measurement), or write why that is left out"


def _option(job: Job, reason: str) -> str:  # noqa: ARG001
    return "" if job.options.standing().exists() else "write at least one option with its price"


def _yes(job: Job, reason: str) -> str:  # noqa: ARG001
    answer = job.answers.standing().filter(entered_at__gte=job.stage_since).last()
    if answer is None:
        return "write down the office's answer to this estimate"
    if answer.answer == EstimateAnswer.Answer.DECLINED:
        return "the office declined; it can only go back as it is"
    return ""


def _part(job: Job, reason: str) -> str:
    if NOTHING_REPLACED in reason.casefold() or job.parts.standing().exists():
        return ""
    return f"write the parts used, or the words {NOTHING_REPLACED!r}"


def _proof(job: Job, reason: str) -> str:
    if reason:
        return ""
    records = standing_tests(job)
    finals = [
        record
        for record in with_evidence(records, Test.When.FINAL)
        if record.test.entered_at >= job.stage_since
    ]
    if not finals:
        return "make a final test with the set-up of the test as received, or write why not"
    if any(record.test.left_out_because for record in finals):
        return ""
    return _unlike(with_evidence(records, Test.When.AS_RECEIVED), finals) or _failing(finals)


def _unlike(received: list[TestOnFile], finals: list[TestOnFile]) -> str:
    """Say how the final tests differ from every one as received; empty where two agree."""
    before = [record.test for record in received if not record.test.left_out_because]
    found = [set_up_differences(a, b.test) for a in before for b in finals]
    if not found or not all(found):
        return ""
    return f"the final test is not comparable ({found[-1][0]}); test again, or write why not"


def _failing(finals: list[TestOnFile]) -> str:
    """Name the readings of the last final test that lie outside their limits."""
    outside = [
        text_of(row.reading.name)
        for row in finals[-1].readings
        if row.verdict == Verdict.OUTSIDE.value
    ]
    if not outside:
        return ""
    return f"outside in the final test: {', '.join(outside)}; rebuild again, or write why not"


NEEDS: dict[str, Callable[[Job, str], str]] = {
    "test_as_received": _test_as_received,
    "option": _option,
    "yes": _yes,
    "part": _part,
    "proof": _proof,
}
