"""The coast-downs of a recording made ready to be drawn: runs, the law fitted, times of a fall."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from turnwell.errors import InputError

__all__ = ["FALLEN_TO", "CoastRun", "CoastRuns", "Curve"]

# The shares of its free speed at which a fall is timed.
FALLEN_TO = (0.9, 0.5, 0.1)


@dataclass(frozen=True, slots=True)
class Curve:
    """Speed against the time since the air was shut off, times rising."""

    time_s: tuple[float, ...]
    speed_rpm: tuple[float, ...]

    def __post_init__(self) -> None:
        if len(self.time_s) != len(self.speed_rpm):
            raise InputError(
                f"a coast-down has {len(self.time_s)} times and {len(self.speed_rpm)} speeds; it"
                " needs as many of each"
            )

    def time_at(self, speed_rpm: float) -> float | None:
        """Give the time at which the speed first falls to a value; None where it is not heard.

        >>> Curve((0.0, 1.0, 2.0), (400.0, 300.0, 100.0)).time_at(200.0)
        1.5
        """
        points = zip(self.time_s, self.speed_rpm, strict=True)
        for (start_s, above), (stop_s, below) in pairwise(points):
            if above >= speed_rpm >= below:
                part = (above - speed_rpm) / (above - below) if above > below else 0.0
                return start_s + part * (stop_s - start_s)
        return None

    def thinned(self, most: int) -> "Curve":
        """Give a smooth curve with at most that many points, the ends among them."""
        count = len(self.time_s)
        if count <= most:
            return self
        kept = [round(place * (count - 1) / (most - 1)) for place in range(most)]
        return Curve(
            tuple(self.time_s[one] for one in kept), tuple(self.speed_rpm[one] for one in kept)
        )


@dataclass(frozen=True, slots=True)
class CoastRun:
    """One coast-down.

    Parameters
    ----------
    free_speed_rpm : float
        Before the air was shut off.
    heard : Curve
    law : Curve or None
        As the drag that was fitted makes it fall.
    terms : tuple of str
        Of that drag: ``"constant"``, ``"linear"``, ``"quadratic"``.
    why_no_law : str
        Why none was fitted; empty where one was.
    """

    free_speed_rpm: float
    heard: Curve
    law: Curve | None = None
    terms: tuple[str, ...] = ()
    why_no_law: str = ""

    def time_to(self, share: float) -> float | None:
        """Give the time until the speed has fallen to a share of the free speed."""
        return self.heard.time_at(share * self.free_speed_rpm)


@dataclass(frozen=True, slots=True)
class CoastRuns:
    """All coast-downs of one recording, at least one.

    Parameters
    ----------
    runs : tuple of CoastRun
    told_fall_s : float or None
        Time from 90 to 10 % as the recording's own reading gives it, where it does.
    """

    runs: tuple[CoastRun, ...]
    told_fall_s: float | None = None

    def __post_init__(self) -> None:
        if not self.runs:
            raise InputError("coast-downs need at least one run")

    @classmethod
    def from_listening(cls, listening: Mapping[str, Any] | None) -> "CoastRuns | None":
        """Read the coast-downs of a stored document; None where it has none to draw."""
        rows = (listening or {}).get("coast_down") or ()
        runs = tuple(_run(row) for row in rows if len(row["time_s"]) > 1)
        readings = (listening or {}).get("readings") or ()
        told = {reading["key"]: reading["value"] for reading in readings}
        return cls(runs, told.get("coast_down_time")) if runs else None

    @property
    def stop_s(self) -> float:
        """End of the longest."""
        return max(run.heard.time_s[-1] for run in self.runs)

    @property
    def free_speed_rpm(self) -> float:
        """The highest free speed."""
        return max(run.free_speed_rpm for run in self.runs)

    @property
    def typical(self) -> CoastRun:
        """The run that falls to half in neither the shortest nor the longest time."""
        known = sorted(self.runs, key=lambda run: run.time_to(0.5) or 0.0)
        fitted = [run for run in known if run.law is not None] or known
        return fitted[(len(fitted) - 1) // 2]

    def mean_time_to(self, share: float) -> float | None:
        """Give the mean time of the fall to a share of the free speed, of the runs that reach it.

        None where none does.
        """
        times = [time for run in self.runs if (time := run.time_to(share)) is not None]
        return sum(times) / len(times) if times else None

    @property
    def fall_s(self) -> float | None:
        """Time from 90 % to 10 % of the free speed: as read, else the mean of what is drawn."""
        if self.told_fall_s is not None:
            return self.told_fall_s
        falls = [
            until - since
            for run in self.runs
            if (since := run.time_to(FALLEN_TO[0])) is not None
            and (until := run.time_to(FALLEN_TO[-1])) is not None
        ]
        return sum(falls) / len(falls) if falls else None


def _run(row: Mapping[str, Any]) -> CoastRun:
    law = row.get("law")
    return CoastRun(
        float(row["free_speed_rpm"]),
        _curve(row["time_s"], row["speed_rpm"]),
        None if law is None else _curve(law["time_s"], law["speed_rpm"]),
        () if law is None else tuple(law["terms"]),
        row.get("why_no_law") or "",
    )


def _curve(time_s: Sequence[float], speed_rpm: Sequence[float]) -> Curve:
    return Curve(tuple(map(float, time_s)), tuple(map(float, speed_rpm)))
