"""Holds what the reader makes of an invented file against the rows that were written."""

from dataclasses import dataclass

import numpy as np

from tests.steam.truth.faults import Case
from tests.steam.truth.files import Written
from turnwell.errors import TurnwellError
from turnwell.steam.reading import UnsureLayoutError, read_record

__all__ = ["Outcome", "outcome_of"]


@dataclass(frozen=True, slots=True)
class Outcome:
    """`word` is "right", "asked", "refused" or "wrong": read wrong without a word."""

    word: str
    why: str = ""


def outcome_of(file: Written, case: Case) -> Outcome:
    """Read a file as a person would who confirms nothing."""
    try:
        record = read_record(file.content, file.name, atmosphere_kpa=case.truth.plan.atmosphere_kpa)
    except UnsureLayoutError as unsure:
        return Outcome("asked", str(unsure))
    except TurnwellError as refused:
        return Outcome("refused", str(refused))
    if record.time_s.size != file.usable:
        return Outcome("wrong", f"{record.time_s.size} rows of {file.usable}")
    true_s = file.time_s - file.time_s[0]
    nearest = np.abs(true_s[:, None] - record.time_s[None, :]).argmin(axis=0)
    for what, found, true, allowed in (
        ("time", record.time_s, true_s, 0.06),
        ("temperature", record.temperature_c, file.temperature_c, 0.01),
        ("pressure", record.pressure_kpa, file.pressure_kpa, 0.2),
    ):
        away = np.abs(found - true[nearest])
        if not np.max(away) <= allowed:
            return Outcome("wrong", f"{what} is off by up to {np.max(away):.2f}")
    return Outcome("right")
