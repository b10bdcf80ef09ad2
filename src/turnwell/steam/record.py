"""A cycle record: what a sterilizer logged for one run, as numbers."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np
from numpy.typing import NDArray

from turnwell.errors import InputError
from turnwell.steam.water import STANDARD_ATMOSPHERE_KPA

__all__ = ["Record", "RowCounts"]

# A step this many times the usual one around it is a gap: a lethality is not drawn across it.
GAP_STEPS = 2.5
NEIGHBOURS = 11


@dataclass(frozen=True, slots=True)
class RowCounts:
    """What became of the rows of a file; nothing is mended in silence.

    Parameters
    ----------
    read : int
        Rows that look like values, whatever became of them.
    kept : int
        Rows in the record.
    broken : int
        Rows in which the time or every value cannot be read.
    duplicate : int
        Rows that repeat the one before; left out.
    reversed : int
        Rows whose time runs back; left out.
    first_broken : tuple of int
        Lines of the file, counted from 1, of the first few that were left out.
    """

    read: int
    kept: int
    broken: int = 0
    duplicate: int = 0
    reversed: int = 0
    first_broken: tuple[int, ...] = ()

    def as_dict(self) -> dict[str, Any]:
        """Give the counts as JSON values."""
        return {
            "read": self.read,
            "kept": self.kept,
            "broken": self.broken,
            "duplicate": self.duplicate,
            "reversed": self.reversed,
            "first_broken": list(self.first_broken),
        }


@dataclass(frozen=True, slots=True, eq=False)
class Record:
    """Time, temperature and pressure of one run.

    Parameters
    ----------
    time_s : array, shape (n,)
        Since the first row, strictly rising, n >= 2.
    temperature_c : array, shape (n,)
        Of the reference point in the chamber; NaN where a row has none.
    pressure_kpa : array, shape (n,)
        Absolute; NaN where a row has none, and throughout where none was logged.
    atmosphere_kpa : float
        Of the place: what a gauge pressure was added to, and what the chamber rests at.
    second_temperature_c : array, shape (n,), or None
        Of another point: the jacket, the load.
    stage_text : tuple of str, or None
        The record's own word for each row, "" where there is none.
    started_at : datetime or None
        The sterilizer's own clock at the first row, without zone; None where only elapsed time is
        logged.
    counts : RowCounts
    columns, units : dict
        Where each quantity stood (from 1), and the unit it was written in, in the words of the
        command line.
    sha256 : str
        Of the file.

    Raises
    ------
    InputError
        If the arrays do not fit, or times do not rise.
    """

    time_s: NDArray[np.float64]
    temperature_c: NDArray[np.float64]
    pressure_kpa: NDArray[np.float64]
    atmosphere_kpa: float = STANDARD_ATMOSPHERE_KPA
    second_temperature_c: NDArray[np.float64] | None = None
    stage_text: tuple[str, ...] | None = None
    started_at: datetime | None = None
    counts: RowCounts = RowCounts(0, 0)
    columns: dict[str, int] | None = None
    units: dict[str, str] | None = None
    sha256: str = ""

    def __post_init__(self) -> None:
        count = self.time_s.size
        if count < 2:
            raise InputError(f"the record has {count} usable rows; 2 are needed at least")
        if self.temperature_c.size != count or self.pressure_kpa.size != count:
            raise InputError("time, temperature and pressure of a record need the same length")
        if not np.all(np.isfinite(self.time_s)) or np.any(np.diff(self.time_s) <= 0.0):
            raise InputError("the times of a record must be finite and rise from row to row")

    @property
    def duration_s(self) -> float:
        """From the first row to the last."""
        return float(self.time_s[-1] - self.time_s[0])

    @property
    def interval_s(self) -> float:
        """The usual step between rows: the median."""
        return float(np.median(np.diff(self.time_s)))

    @property
    def has_pressure(self) -> bool:
        """True where any pressure was logged."""
        return bool(np.any(np.isfinite(self.pressure_kpa)))

    @property
    def is_gap(self) -> NDArray[np.bool_]:
        """For each of the n - 1 steps, whether lines are missing in it.

        Held against the usual step around it, so that a printer that changes its pace is none.
        """
        steps = np.diff(self.time_s)
        if steps.size < NEIGHBOURS:
            usual = np.full(steps.size, np.median(steps))
        else:
            half = NEIGHBOURS // 2
            padded = np.pad(steps, half, mode="edge")
            usual = np.median(np.lib.stride_tricks.sliding_window_view(padded, NEIGHBOURS), axis=1)
        return np.asarray(steps > GAP_STEPS * usual)

    @property
    def gaps_s(self) -> tuple[tuple[float, float], ...]:
        """Start and stop of every gap."""
        at = np.flatnonzero(self.is_gap)
        return tuple(
            (float(self.time_s[index]), float(self.time_s[index + 1])) for index in at.tolist()
        )

    def as_dict(self) -> dict[str, Any]:
        """Give the facts of the record as JSON values, without its rows."""
        return {
            "rows": int(self.time_s.size),
            "interval_s": self.interval_s,
            "duration_s": self.duration_s,
            "sha256": self.sha256,
            "columns": dict(self.columns or {}),
            "units": dict(self.units or {}),
            "started_at": None if self.started_at is None else self.started_at.isoformat(),
            "atmosphere_kpa": self.atmosphere_kpa,
            "counts": self.counts.as_dict(),
            "gaps": [{"start_s": start, "stop_s": stop} for start, stop in self.gaps_s],
        }
