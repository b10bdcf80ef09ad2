"""Moves a job from stage to stage, and says what it waits for beside its stage."""

from datetime import datetime

from turnwell.errors import InputError, StageError
from turnwell.web.accounts.models import User
from turnwell.web.jobs.actions.writing import job_being_written, kept_text, moment, require_shop
from turnwell.web.jobs.models import Job, Stage, StageChange, Waiting
from turnwell.web.jobs.steps import missing_for, next_steps, step_between

__all__ = ["move_on", "set_waiting", "stop_waiting", "wait_for"]


def move_on(
    *,
    by: User,
    job: Job,
    to: Stage,
    reason: str = "",
    at: datetime | None = None,
    version: int | None = None,
) -> Job:
    """Take a job one step on.

    Parameters
    ----------
    to : Stage
        One that `steps.next_steps` gives for the job.
    reason : str
        Words for a step that needs them; kept with the step, up to 300 characters.

    Raises
    ------
    StageError
        If no step leads there, or something is still missing for it; says which and what.
    """
    require_shop(by)
    reason = kept_text(reason, "the reason", most=300)
    with job_being_written(job, version=version) as locked:
        step = step_between(locked, to)
        here = Stage(locked.stage).label.lower()
        if step is None:
            ways = ", ".join(other.to.label.lower() for other in next_steps(locked)) or "none"
            raise StageError(
                f"job {locked.code} is at {here!r}; no step leads to {Stage(to).label.lower()!r}"
                f" (possible: {ways})"
            )
        if missing := missing_for(locked, step, reason):
            raise StageError(f"before {step.to.label.lower()!r}: {missing}")
        when = moment(at, not_before=locked.stage_since)
        StageChange.objects.create(
            job=locked, from_stage=locked.stage, to_stage=to, at=when, by=by, reason=reason
        )
        locked.stage, locked.stage_since = to, when
        locked.ended_at = when if step.to.is_end else None
        _wait_at_the_new_stage(locked, when)
        return locked


def _wait_at_the_new_stage(job: Job, when: datetime) -> None:
    """Begin the wait for the office's answer, or end a wait that the new stage has outrun."""
    if job.stage == Stage.ESTIMATED:
        set_waiting(job, Waiting.ANSWER, job.office.name[:80], when)
    elif job.stage not in {Stage.TORN_DOWN, Stage.AGREED} or job.waiting_for == Waiting.ANSWER:
        set_waiting(job, Waiting.NOTHING, "", None)


def wait_for(
    *,
    by: User,
    job: Job,
    what: Waiting,
    owner: str,
    at: datetime | None = None,
    version: int | None = None,
) -> Job:
    """Say what a job waits for and who owes it; its stage stays.

    Raises
    ------
    InputError
        If nothing is named, or nobody owes it.
    StageError
        If the handpiece has gone home.
    """
    require_shop(by)
    if what == Waiting.NOTHING or what not in Waiting.values:
        raise InputError(f"{what!r} is nothing to wait for; name answer, parts or sent_out")
    owner = kept_text(owner, "who owes it", most=80, required=True)
    with job_being_written(job, version=version) as locked:
        if locked.ended_at is not None:
            raise StageError(f"job {locked.code} is closed; it waits for nothing")
        set_waiting(locked, what, owner, moment(at, not_before=locked.taken_in_at))
        return locked


def stop_waiting(*, by: User, job: Job, version: int | None = None) -> Job:
    """Say that what a job waited for has come."""
    require_shop(by)
    with job_being_written(job, version=version) as locked:
        set_waiting(locked, Waiting.NOTHING, "", None)
        return locked


def set_waiting(job: Job, what: Waiting, owner: str, since: datetime | None) -> None:
    """Set the three fields of waiting on a job that is being written."""
    job.waiting_for, job.waiting_owner, job.waiting_since = what, owner, since
