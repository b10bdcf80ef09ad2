"""What a cycle trace draws, read from a document of schema ``turnwell.steam/1``."""

from bisect import bisect
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import isfinite
from typing import Any

from turnwell.units import s_to_min

__all__ = ["CycleRun", "FaultSpan", "Series", "StageSpan"]

Point = tuple[float, float]
# Between measured and boiling temperature where the document names no limit (common practice).
USUAL_K = 2.0


@dataclass(frozen=True, slots=True)
class Series:
    """One curve in pieces: between two of them nothing was logged.

    Parameters
    ----------
    pieces : tuple of tuples of (minutes, value)
    """

    pieces: tuple[tuple[Point, ...], ...]

    @property
    def points(self) -> tuple[Point, ...]:
        """All points in order."""
        return tuple(point for piece in self.pieces for point in piece)

    def thinned(self, columns: int) -> "Series":
        """Give the lowest and the highest point of each column of equal width."""
        points = self.points
        if len(points) <= 2 * columns:
            return self
        first, last = points[0][0], points[-1][0]
        width = max((last - first) / columns, 1e-9)
        return Series(tuple(_thin(piece, first, width) for piece in self.pieces))


@dataclass(frozen=True, slots=True)
class StageSpan:
    """One stage: its kind, and its start and stop in minutes."""

    kind: str
    start_min: float
    stop_min: float


@dataclass(frozen=True, slots=True)
class FaultSpan:
    """Where a fault shows, in minutes."""

    name: str
    start_min: float
    stop_min: float


@dataclass(frozen=True, slots=True)
class CycleRun:
    """A run ready to be drawn; times in minutes from the first row.

    Parameters
    ----------
    temperature, pressure, difference : Series
        In °C, kPa absolute and K; empty where nothing was logged.
    stages : tuple of StageSpan
    faults : tuple of FaultSpan
        Those that have a place.
    band_c : (low, high) or None
        The plan's.
    allowed_k : (low, high)
        What the difference is held against while holding.
    gaps : tuple of (start, stop)
        Where lines of the record are missing, in minutes.
    planned_dry_min : float or None
    atmosphere_kpa : float
    pulses : int
    stop_min : float
    """

    temperature: Series
    pressure: Series
    difference: Series
    stages: tuple[StageSpan, ...]
    faults: tuple[FaultSpan, ...]
    band_c: tuple[float, float] | None
    allowed_k: tuple[float, float]
    gaps: tuple[Point, ...]
    planned_dry_min: float | None
    atmosphere_kpa: float
    pulses: int
    stop_min: float

    @classmethod
    def from_review(cls, document: Mapping[str, Any] | None) -> "CycleRun | None":
        """Read a document; None where it has no curve."""
        trace = (document or {}).get("trace") or {}
        times = trace.get("time_s") or []
        if document is None or len(times) < 2:
            return None
        record, cycle = document["record"], document["cycle"]
        gaps = [(gap["start_s"], gap["stop_s"]) for gap in record.get("gaps", ())]

        def series(key: str) -> Series:
            return _series(times, trace.get(key) or [], gaps)

        set_c, band_k, dry_s = cycle.get("set_c"), cycle.get("band_k"), cycle.get("dry_s")
        return cls(
            temperature=series("temperature_c"),
            pressure=series("pressure_kpa"),
            difference=series("saturation_difference_k"),
            stages=tuple(
                StageSpan(stage["kind"], s_to_min(stage["start_s"]), s_to_min(stage["stop_s"]))
                for stage in document["stages"]
            ),
            faults=tuple(
                FaultSpan(fault["name"], s_to_min(fault["start_s"]), s_to_min(fault["stop_s"]))
                for fault in document["faults"]
                if fault.get("start_s") is not None and fault.get("stop_s") is not None
            ),
            allowed_k=_allowed(document.get("readings", ())),
            gaps=tuple((s_to_min(start), s_to_min(stop)) for start, stop in gaps),
            band_c=None if set_c is None or band_k is None else (set_c, set_c + band_k),
            planned_dry_min=None if dry_s is None else s_to_min(dry_s),
            atmosphere_kpa=record["atmosphere_kpa"],
            pulses=len(document.get("course", {}).get("pulses", ())),
            stop_min=s_to_min(max(times[-1], 1.0)),
        )

    def stage(self, kind: str) -> StageSpan | None:
        """Give the first stage of a kind."""
        return next((stage for stage in self.stages if stage.kind == kind), None)

    def held(self, curve: Series) -> list[float]:
        """Give the values of a curve while holding."""
        plateau = self.stage("plateau")
        if plateau is None:
            return []
        start, stop = plateau.start_min, plateau.stop_min
        return [value for minutes, value in curve.points if start <= minutes <= stop]

    @property
    def missing_drying(self) -> tuple[float, float] | None:
        """Give from when to when drying was planned and did not run; None where it did."""
        drying = self.stage("drying")
        if drying is None or self.planned_dry_min is None:
            return None
        planned = drying.start_min + self.planned_dry_min
        return (drying.stop_min, planned) if planned > drying.stop_min + 0.25 else None

    @property
    def axis_stop_min(self) -> float:
        """Where the time axis ends: with the drying that was planned, if that is later."""
        missing = self.missing_drying
        return max(self.stop_min, missing[1] if missing else 0.0)


def _series(
    times: Sequence[float], values: Sequence[float | None], gaps: Sequence[tuple[float, float]]
) -> Series:
    """Cut a curve where values are missing and where lines of the record are."""
    pieces: list[list[Point]] = [[]]
    # The document's curves are thinned and rounded: a gap's own ends need not be among them.
    middles = [(start + stop) / 2.0 for start, stop in gaps]
    crossed = 0
    for time_s, value in zip(times, values, strict=False):
        passed = bisect(middles, time_s)
        if passed != crossed:
            pieces.append([])
            crossed = passed
        if value is None or not isfinite(value):
            pieces.append([])
            continue
        pieces[-1].append((s_to_min(time_s), value))
    return Series(tuple(tuple(piece) for piece in pieces if piece))


def _allowed(readings: Sequence[Mapping[str, Any]]) -> tuple[float, float]:
    """Give the limit of the difference's own reading; the usual one where it has none."""
    found = next((one for one in readings if one["key"] == "saturation_difference_k"), None)
    limit = None if found is None else found["limit"]
    if limit is None or limit["low"] is None or limit["high"] is None:
        return -USUAL_K, USUAL_K
    return limit["low"], limit["high"]


def _thin(piece: tuple[Point, ...], first: float, width: float) -> tuple[Point, ...]:
    columns: dict[int, list[Point]] = {}
    for point in piece:
        columns.setdefault(int((point[0] - first) / width), []).append(point)
    kept: list[Point] = [piece[0]]
    for points in columns.values():
        low = min(points, key=lambda point: point[1])
        high = max(points, key=lambda point: point[1])
        kept += sorted({low, high})
    kept.append(piece[-1])
    return tuple(dict.fromkeys(kept))
