"""Holds what the analysis says of a case against its truth."""

from dataclasses import dataclass

import numpy as np

from tests.steam.truth.faults import Case
from tests.steam.truth.plans import GRAVITY, Kind
from turnwell.measure import Basis, Limit
from turnwell.steam import AirRemoval, Cycle, Record, Review, analyse

__all__ = ["StageError", "alarms", "cycle_of", "missed", "record_of", "review_of", "stage_errors"]


@dataclass(frozen=True, slots=True)
class StageError:
    """How far a boundary lies from where it may; infinite where the stage is not found."""

    stage: str
    end: str
    error_s: float
    allowed_s: float

    @property
    def within(self) -> bool:
        return abs(self.error_s) <= self.allowed_s


def cycle_of(case: Case) -> Cycle:
    """Give the plan that a record is held against."""
    plan = case.truth.plan
    gravity = plan.kind in GRAVITY
    weak = plan.kind is Kind.WEAK_PUMP_134
    return Cycle(
        name=plan.kind.value,
        set_c=plan.set_c,
        band_k=plan.band_k,
        hold_s=plan.hold_s,
        dry_s=plan.dry_s,
        air_removal=AirRemoval.GRAVITY if gravity else AirRemoval.DYNAMIC,
        drying_pressure=None
        if case.truth.drying_s is None
        else Limit(low=None, high=40.0 if weak else 20.0, source="test", basis=Basis.OWN),
    )


def record_of(case: Case) -> Record:
    """Give a case as the record that a reader would."""
    logged = case.record
    return Record(
        time_s=logged.time_s - logged.time_s[0],
        temperature_c=logged.temperature_c,
        pressure_kpa=logged.pressure_kpa,
        atmosphere_kpa=case.truth.plan.atmosphere_kpa,
    )


def review_of(case: Case) -> Review:
    """Analyse a case."""
    return analyse(record_of(case), cycle_of(case))


def missed(case: Case, review: Review) -> set[str]:
    """Give the faults that are there and were not found."""
    return set(case.keys) - {fault.key.value for fault in review.faults}


def alarms(case: Case, review: Review) -> set[str]:
    """Give the faults that were found and are not there."""
    return {fault.key.value for fault in review.faults} - case.keys - case.beside


def stage_errors(case: Case, review: Review) -> list[StageError]:
    """Give the error of every boundary; allowed are two samples or 10 s, what is more."""
    time_s = case.record.time_s
    allowed = max(2.0 * float(np.median(np.diff(time_s))), 10.0)
    errors = []
    for span in case.truth.stages:
        found = next((s for s in review.course.stages if s.kind.value == span.kind), None)
        for end, truth in (("start", span.start_s), ("stop", span.stop_s)):
            at = None if found is None else (found.start_s if end == "start" else found.stop_s)
            error = np.inf if at is None else _outside(at, *_between_rows(time_s, *truth))
            errors.append(StageError(span.kind, end, error, allowed))
    return errors


def _between_rows(time_s, low: float, high: float) -> tuple[float, float]:
    """Give the span in which a boundary may be told: where rows are missing, all of the gap."""
    steps = np.diff(time_s)
    gaps = np.flatnonzero(steps > 2.5 * np.median(steps))
    for start, stop in zip(time_s[gaps], time_s[gaps + 1], strict=True):
        if start <= low <= stop:
            low = start
        if start <= high <= stop:
            high = stop
    return min(low, float(time_s[-1])), min(high, float(time_s[-1]))


def _outside(at: float, low: float, high: float) -> float:
    """Signed distance from a span; 0 inside."""
    return float(at - low if at < low else max(at - high, 0.0))
