"""A speed track made ready to be drawn: thinned, cut into unbroken runs, set on a clock."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import median
from typing import Any

from turnwell.errors import InputError
from turnwell.measure import Basis, Limit

__all__ = ["Phase", "SpeedTrace", "TracePoint", "thinned"]

# Points of one curve at most: two for each of this many columns.
COLUMNS = 480
# A pause of the track longer than this many of its steps breaks the line.
BREAK_STEPS = 6.0
COVERAGE = 1.96


@dataclass(frozen=True, slots=True)
class Phase:
    """A stretch of the run: ``"run-up"``, ``"steady"``, ``"coast-down"`` or ``"silent"``."""

    kind: str
    start_s: float
    stop_s: float

    @property
    def duration_s(self) -> float:
        """How long it took."""
        return self.stop_s - self.start_s


@dataclass(frozen=True, slots=True)
class TracePoint:
    """One point of a curve, with its 95 % interval; points of one `run` are joined."""

    time_s: float
    speed_rpm: float
    low_rpm: float
    high_rpm: float
    run: int


@dataclass(frozen=True, slots=True)
class SpeedTrace:
    """Speed over time from one recording.

    Parameters
    ----------
    time_s, speed_rpm, sd_rpm : tuple of float
        The track, times rising; instants at which nothing is known are left out.
    phases : tuple of Phase
        In the order of time.
    steady_rpm : tuple of float or None
        Speed of the steady part with the ends of its interval, where it could be told.
    limit : Limit or None
        What that speed is held against.
    """

    time_s: tuple[float, ...]
    speed_rpm: tuple[float, ...]
    sd_rpm: tuple[float, ...]
    phases: tuple[Phase, ...] = ()
    steady_rpm: tuple[float, float, float] | None = None
    limit: Limit | None = None

    def __post_init__(self) -> None:
        if not len(self.time_s) == len(self.speed_rpm) == len(self.sd_rpm):
            raise InputError(
                f"the track has {len(self.time_s)} times, {len(self.speed_rpm)} speeds and"
                f" {len(self.sd_rpm)} deviations; it needs as many of each"
            )

    @classmethod
    def from_listening(cls, listening: Mapping[str, Any] | None) -> "SpeedTrace | None":
        """Read the track out of a document of schema ``turnwell.listen/2``.

        None where there is none, or it has fewer than two points.
        """
        track = (listening or {}).get("track") or {}
        if listening is None or len(track.get("time_s", ())) < 2:
            return None
        speed = _speed_of(listening.get("readings", ()))
        phases = tuple(
            Phase(part["kind"], float(part["start_s"]), float(part["stop_s"]))
            for part in listening.get("segments", ())
        )
        return cls(
            tuple(map(float, track["time_s"])),
            tuple(map(float, track["speed_rpm"])),
            tuple(map(float, track["sd_rpm"])),
            phases,
            None if speed is None else (speed["value"], speed["low"], speed["high"]),
            None if speed is None else _limit_of(speed["limit"]),
        )

    @property
    def start_s(self) -> float:
        """Beginning of the first phase that turns, or of the track."""
        turning = [phase.start_s for phase in self.phases if phase.kind != "silent"]
        return min([*turning, self.time_s[0]])

    @property
    def stop_s(self) -> float:
        """End of the last phase that turns, or of the track."""
        turning = [phase.stop_s for phase in self.phases if phase.kind != "silent"]
        return max([*turning, self.time_s[-1]])

    @property
    def release_s(self) -> float | None:
        """The moment the air was shut off for the last time: where the last coast-down begins."""
        coasts = [phase.start_s for phase in self.phases if phase.kind == "coast-down"]
        return coasts[-1] if coasts else None

    def shifted(self, by_s: float) -> "SpeedTrace":
        """Give the trace on a clock that is set later by so many seconds."""
        return SpeedTrace(
            tuple(time + by_s for time in self.time_s),
            self.speed_rpm,
            self.sd_rpm,
            tuple(Phase(p.kind, p.start_s + by_s, p.stop_s + by_s) for p in self.phases),
            self.steady_rpm,
            self.limit,
        )

    def points(self, columns: int = COLUMNS) -> tuple[TracePoint, ...]:
        """Give the curve thinned to so many columns of a screen, cut where the track pauses."""
        steps = [later - earlier for earlier, later in pairwise(self.time_s)]
        pause = BREAK_STEPS * median(steps) if steps else 0.0
        rows: list[TracePoint] = []
        run = 0
        for index in thinned(self.time_s, self.speed_rpm, columns):
            if rows and self._pauses(rows[-1].time_s, index, pause):
                run += 1
            speed, half = self.speed_rpm[index], COVERAGE * self.sd_rpm[index]
            rows.append(
                TracePoint(self.time_s[index], speed, max(speed - half, 0.0), speed + half, run)
            )
        return tuple(rows)

    def _pauses(self, since_s: float, index: int, pause: float) -> bool:
        """Tell whether the track pauses between a time and a later point."""
        while index > 0 and self.time_s[index] > since_s:
            if self.time_s[index] - self.time_s[index - 1] > pause:
                return True
            index -= 1
        return False


def thinned(x: Sequence[float], y: Sequence[float], columns: int) -> list[int]:
    """Give the indices that keep a curve's look: first, last and both extremes of each column.

    Parameters
    ----------
    x : sequence of float
        Rising.
    y : sequence of float
        As many.
    columns : int
        At least 1; the answer has at most ``2 * columns + 2`` indices.

    Examples
    --------
    >>> thinned([0, 1, 2, 3, 4, 5], [0, 9, 0, 0, -9, 0], 1)
    [0, 1, 4, 5]
    """
    if len(x) <= 2 * columns:
        return list(range(len(x)))
    width = (x[-1] - x[0]) / columns
    lowest: dict[int, int] = {}
    highest: dict[int, int] = {}
    for index, (place, height) in enumerate(zip(x, y, strict=True)):
        column = min(int((place - x[0]) / width), columns - 1) if width > 0 else 0
        if column not in lowest or height < y[lowest[column]]:
            lowest[column] = index
        if column not in highest or height > y[highest[column]]:
            highest[column] = index
    return sorted({0, len(x) - 1, *lowest.values(), *highest.values()})


def _speed_of(readings: Sequence[Mapping[str, Any]]) -> Mapping[str, Any] | None:
    """Give the reading of the speed the track shows: of the bur, else of what was heard."""
    by_key = {reading["key"]: reading for reading in readings}
    for key in ("free_running_speed", "speed_heard"):
        if key in by_key and by_key[key]["value"] is not None:
            return by_key[key]
    return None


def _limit_of(limit: Mapping[str, Any] | None) -> Limit | None:
    if limit is None:
        return None
    return Limit(limit["low"], limit["high"], limit["source"], Basis(limit["basis"]))
