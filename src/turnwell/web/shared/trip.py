"""The trip of a job: the steps it has made, the one it is at, those to come."""

from dataclasses import dataclass
from datetime import datetime

from turnwell.web.jobs.models import Job, Stage

__all__ = ["Step", "small_trip_of", "steps_of"]

USUAL_WAY = (
    Stage.TAKEN_IN,
    Stage.TESTED_AS_RECEIVED,
    Stage.TORN_DOWN,
    Stage.ESTIMATED,
    Stage.AGREED,
    Stage.REBUILT,
    Stage.PROVED,
    Stage.HANDED_BACK,
)
DONE, HERE, TO_COME = "done", "here", "to come"


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a trip.

    Parameters
    ----------
    name : str
        As people say it.
    state : str
        ``"done"``, ``"here"`` or ``"to come"``.
    at : datetime or None
        When it was reached last.
    """

    name: str
    state: str
    at: datetime | None

    @property
    def is_done(self) -> bool:
        """True for a step that lies behind."""
        return self.state == DONE

    @property
    def is_here(self) -> bool:
        """True for the step the job is at."""
        return self.state == HERE


def steps_of(job: Job) -> list[Step]:
    """Give the steps of a job in order, with the time each was reached last.

    The usual way has eight; a job that left it shows the steps it made and how it ends.
    """
    reached = {Stage(change.to_stage): change.at for change in job.stage_changes.all()}
    reached.setdefault(Stage.TAKEN_IN, job.taken_in_at)
    reached.setdefault(Stage(job.stage), job.stage_since)
    way = _way_of(Stage(job.stage), reached)
    here = way.index(Stage(job.stage))
    steps = []
    for number, stage in enumerate(way):
        state = DONE if number < here else HERE if number == here else TO_COME
        if state == HERE and stage.is_end:
            state = DONE
        steps.append(Step(stage.label, state, reached.get(stage) if state != TO_COME else None))
    return steps


def small_trip_of(job: Job) -> tuple[int | None, int, str, bool]:
    """Give step, number of steps, words and whether it is over, without reading further rows."""
    stage = Stage(job.stage)
    if stage not in USUAL_WAY:
        return None, len(USUAL_WAY), stage.label, stage.is_end
    step = USUAL_WAY.index(stage)
    says = f"{stage.label}, step {step + 1} of {len(USUAL_WAY)}"
    return step, len(USUAL_WAY), says, stage.is_end


def _way_of(stage: Stage, reached: dict[Stage, datetime]) -> list[Stage]:
    if stage in USUAL_WAY:
        return list(USUAL_WAY)
    made = [step for step in USUAL_WAY if step in reached and step is not Stage.HANDED_BACK]
    endings = [Stage.NOT_WORTH_REPAIRING] if Stage.NOT_WORTH_REPAIRING in reached else []
    return [*made, *endings, Stage.HANDED_BACK_UNREPAIRED]
