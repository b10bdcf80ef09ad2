"""The one thing to do next on a job: what its page offers in the line at the foot."""

from dataclasses import dataclass

from django.urls import reverse

from turnwell.web.jobs.models import EstimateAnswer, Job, Stage, Test
from turnwell.web.jobs.records import JobRecords
from turnwell.web.jobs.steps import next_steps

__all__ = ["NextAction", "next_action"]


@dataclass(frozen=True, slots=True)
class NextAction:
    """A button: where it leads, or the step it takes when pressed.

    Parameters
    ----------
    label : str
        On the button.
    address : str
        Where it leads; for a step, where it is posted.
    to : str
        The stage it leads to at once; empty for a page to fill in.
    says : str
        What stands beside it.
    is_second : bool
        True where the page itself holds the first thing to do: to record the run.
    """

    label: str
    address: str
    to: str = ""
    says: str = ""
    is_second: bool = False


def next_action(records: JobRecords) -> NextAction | None:
    """Give the next thing to do; None where the job is over."""
    chooser = CHOOSERS.get(Stage(records.job.stage))
    return chooser(records) if chooser else None


def _page(label: str, name: str, job: Job, *more: object, says: str = "") -> NextAction:
    return NextAction(label, reverse(name, args=[job.code, *more]), says=says)


def _measure(job: Job, test: Test) -> NextAction:
    return NextAction(
        "Measure",
        reverse("measure", args=[job.code, test.pk]),
        says="Record the run above, or measure with an instrument.",
        is_second=True,
    )


def _step(label: str, job: Job, to: Stage, says: str = "") -> NextAction:
    return NextAction(label, reverse("job-move", args=[job.code, to]), to=to, says=says)


def _taken_in(records: JobRecords) -> NextAction:
    job = records.job
    tests = records.tests_of(Test.When.AS_RECEIVED)
    if not tests:
        return _page(
            "Test as received",
            "test-new",
            job,
            Test.When.AS_RECEIVED,
            says="Before anything is opened: write the set-up, then record and measure.",
        )
    if not any(test.answers for test in tests):
        return _measure(job, tests[-1].test)
    return _step("Tested as received", job, Stage.TESTED_AS_RECEIVED, "Everything measured?")


def _tested(records: JobRecords) -> NextAction:
    job = records.job
    if job.reason == Job.Reason.TEST_ONLY:
        return _step("Hand back", job, Stage.HANDED_BACK, "A test only: it can go home.")
    if not records.findings:
        return _page(
            "Look before opening",
            "findings",
            job,
            says="Opening destroys the feel of the bearings: write it down first.",
        )
    return _step("Torn down", job, Stage.TORN_DOWN, "Open it, then press.")


def _torn_down(records: JobRecords) -> NextAction:
    job = records.job
    if not any(finding.is_of_the_opened for finding in records.findings):
        return _page("Write the findings", "findings", job, says="Look with the loupe first.")
    if not records.cause:
        name = "cause" if records.ladder else "own-view"
        label = "Name the main cause" if records.ladder else "Why did it fail?"
        return _page(label, name, job, says="Your own view first, then the ladder.")
    if any(step.to == Stage.REBUILT for step in next_steps(job)):
        if not records.parts:
            return _page("Write a part used", "part-new", job)
        return _step("Rebuilt", job, Stage.REBUILT)
    if not records.options:
        return _page("Write the estimate", "option-new", job)
    return _step("Estimate is out", job, Stage.ESTIMATED, "Further options can be added.")


def _estimated(records: JobRecords) -> NextAction:
    job, answer = records.job, records.answer
    if answer is None or answer.entered_at < job.stage_since:
        return _page("Write the office’s answer", "answer", job, says="Waits for the office.")
    if answer.answer == EstimateAnswer.Answer.AGREED:
        return _step("Agreed", job, Stage.AGREED, f"{answer.answered_by} agreed.")
    return NextAction(
        "Hand back unrepaired",
        reverse("job-move", args=[job.code, Stage.HANDED_BACK_UNREPAIRED]),
        says=f"{answer.answered_by} declined.",
    )


def _agreed(records: JobRecords) -> NextAction:
    if not records.parts:
        return _page("Write a part used", "part-new", records.job, says="What went in.")
    return _step("Rebuilt", records.job, Stage.REBUILT, "All parts written down?")


def _rebuilt(records: JobRecords) -> NextAction:
    job = records.job
    finals = [
        record
        for record in records.tests_of(Test.When.FINAL)
        if record.test.entered_at >= job.stage_since
    ]
    if not finals:
        return _page(
            "Test again",
            "test-new",
            job,
            Test.When.FINAL,
            says="With the set-up of the test as received.",
        )
    if not any(record.answers for record in finals):
        return _measure(job, finals[-1].test)
    return _step("Proved", job, Stage.PROVED, "Does it now run true?")


def _proved(records: JobRecords) -> NextAction:
    return _step(
        "Hand back",
        records.job,
        Stage.HANDED_BACK,
        "It is sterilized again before it goes to a patient.",
    )


def _not_worth(records: JobRecords) -> NextAction:
    return _step("Hand back unrepaired", records.job, Stage.HANDED_BACK_UNREPAIRED)


CHOOSERS = {
    Stage.TAKEN_IN: _taken_in,
    Stage.TESTED_AS_RECEIVED: _tested,
    Stage.TORN_DOWN: _torn_down,
    Stage.ESTIMATED: _estimated,
    Stage.AGREED: _agreed,
    Stage.REBUILT: _rebuilt,
    Stage.PROVED: _proved,
    Stage.NOT_WORTH_REPAIRING: _not_worth,
}
