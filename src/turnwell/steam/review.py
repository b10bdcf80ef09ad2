"""What reading a record gave: stages, readings, faults, questions, the water, the curves."""

from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from turnwell.measure import Reading
from turnwell.steam.cycle import Cycle
from turnwell.steam.fault import Fault, Question
from turnwell.steam.load.balance import WaterBalance
from turnwell.steam.record import Record
from turnwell.steam.stage import Course
from turnwell.steam.version import STEAM_VERSION
from turnwell.words import text_of

__all__ = ["SCHEMA", "Review"]

SCHEMA = "turnwell.steam/1"
MOST_POINTS = 1600


@dataclass(frozen=True, slots=True, eq=False)
class Review:
    """The answer to one record. It never releases a load; `as_dict` says so.

    Parameters
    ----------
    record : Record
    cycle : Cycle
        The plan it was held against.
    course : Course
    readings : tuple of Reading
    faults : tuple of Fault
        The gravest first.
    questions : tuple of Question
        What the record cannot show.
    saturation_difference_k : array, shape (n,)
        Measured less saturated temperature where saturated steam is meant to be, else NaN.
    water : WaterBalance or None
        Only where the load is known.
    version : str
        Of the method that made it.
    """

    record: Record
    cycle: Cycle
    course: Course
    readings: tuple[Reading, ...]
    faults: tuple[Fault, ...]
    questions: tuple[Question, ...]
    saturation_difference_k: NDArray[np.float64]
    water: WaterBalance | None = None
    version: str = STEAM_VERSION

    @property
    def answered(self) -> bool:
        """True where a plateau was found, so that anything of the run can be told."""
        reading = self.reading("f0_min")
        return reading is not None and reading.value is not None

    def reading(self, key: str) -> Reading | None:
        """Give the reading of a key, None where there is none."""
        return next((reading for reading in self.readings if reading.key == key), None)

    def as_dict(self, language: str = "en") -> dict[str, Any]:
        """Give the document of schema ``turnwell.steam/1``."""
        return {
            "schema": SCHEMA,
            "version": self.version,
            "record": self.record.as_dict(),
            "cycle": self.cycle.as_dict(),
            "stages": [stage.as_dict(language) for stage in self.course.stages],
            "course": self.course.as_dict(language),
            "readings": [reading.as_dict(language) for reading in self.readings],
            "faults": [fault.as_dict(language) for fault in self.faults],
            "questions": [question.as_dict(language) for question in self.questions],
            "water": None if self.water is None else self.water.as_dict(language),
            "trace": self._trace(),
            "caution": text_of("steam.releases_no_load", language),
        }

    def _trace(self) -> dict[str, list[float | None]]:
        """Give the curves with at most `MOST_POINTS` rows; extremes of each are kept."""
        record = self.record
        rows = _thinned(record.temperature_c, record.pressure_kpa)
        return {
            "time_s": _json(record.time_s[rows], 2),
            "temperature_c": _json(record.temperature_c[rows], 3),
            "pressure_kpa": _json(record.pressure_kpa[rows], 3),
            "saturation_difference_k": _json(self.saturation_difference_k[rows], 3),
        }

    def __str__(self) -> str:
        """Write the readings, one a line."""
        return "\n".join(str(reading) for reading in self.readings)


def _thinned(*curves: NDArray[np.float64]) -> NDArray[np.intp]:
    """Give the rows to keep: the lowest and the highest of every curve in each of equal parts."""
    count = curves[0].size
    if count <= MOST_POINTS:
        return np.arange(count)
    parts = MOST_POINTS // (2 * len(curves))
    edges = np.linspace(0, count, parts + 1).astype(int)
    kept = {0, count - 1}
    for start, stop in pairwise(edges.tolist()):
        for curve in curves:
            piece = curve[start:stop]
            if np.any(np.isfinite(piece)):
                kept |= {start + int(np.nanargmin(piece)), start + int(np.nanargmax(piece))}
    return np.array(sorted(kept))


def _json(values: NDArray[np.float64], digits: int) -> list[float | None]:
    return [round(value, digits) if np.isfinite(value) else None for value in values.tolist()]
