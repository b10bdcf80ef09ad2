"""Times at which a curve crosses a level, and how long it stays on one side."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Span", "fall_s", "longest", "spans_within", "time_below_s"]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Span:
    """An unbroken stretch of time."""

    start_s: float
    stop_s: float

    @property
    def duration_s(self) -> float:
        """From start to stop."""
        return self.stop_s - self.start_s


def spans_within(
    time_s: Array,
    values: Array,
    low: float,
    high: float,
    *,
    is_gap: NDArray[np.bool_] | None = None,
) -> tuple[Span, ...]:
    """Give the unbroken stretches in which a curve lies in [low, high], edges included.

    Parameters
    ----------
    time_s, values : array, shape (n,)
        A NaN, and a step marked as gap, break a stretch: nothing was seen there.
    low, high : float
        Crossings between two rows are interpolated.

    Examples
    --------
    >>> import numpy as np
    >>> times, values = np.array([0.0, 10.0, 20.0]), np.array([132.0, 136.0, 132.0])
    >>> spans_within(times, values, 134.0, 138.0)
    (Span(start_s=5.0, stop_s=15.0),)
    """
    with np.errstate(invalid="ignore"):
        inside = (values >= low) & (values <= high)
    broken = np.zeros(values.size - 1, dtype=bool) if is_gap is None else is_gap
    joined = inside[1:] & inside[:-1] & ~broken
    starts = np.flatnonzero(inside & ~np.concatenate(([False], joined)))
    stops = np.flatnonzero(inside & ~np.concatenate((joined, [False])))
    curve = _Curve(time_s, values, low, high, broken)
    return tuple(
        Span(curve.edge_s(first, first - 1), curve.edge_s(last, last + 1))
        for first, last in zip(starts.tolist(), stops.tolist(), strict=True)
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Curve:
    """A curve, the band it is held against, and the steps in which nothing was seen."""

    time_s: Array
    values: Array
    low: float
    high: float
    broken: NDArray[np.bool_]

    def edge_s(self, inner: int, outer: int) -> float:
        """Time at which the curve crosses between a row inside and its neighbour outside."""
        start_s = float(self.time_s[inner])
        if outer < 0 or outer >= self.values.size or self.broken[min(inner, outer)]:
            return start_s
        inside, outside = float(self.values[inner]), float(self.values[outer])
        level = self.low if outside < self.low else self.high
        if self.low <= outside <= self.high or not np.isfinite(outside):
            return start_s
        share = (inside - level) / (inside - outside)
        return start_s + share * (float(self.time_s[outer]) - start_s)


def longest(spans: tuple[Span, ...]) -> Span | None:
    """Give the longest; None where there is none."""
    return max(spans, key=lambda span: span.duration_s, default=None)


def time_below_s(
    time_s: Array, values: Array, level: float, *, is_gap: NDArray[np.bool_] | None = None
) -> float:
    """Give the whole time a curve lies at or below a level, crossings interpolated.

    >>> import numpy as np
    >>> time_below_s(np.array([0.0, 10.0, 20.0]), np.array([30.0, 10.0, 10.0]), 20.0)
    15.0
    """
    spans = spans_within(time_s, values, -np.inf, level, is_gap=is_gap)
    return sum(span.duration_s for span in spans)


def fall_s(time_s: Array, values: Array, high: float, low: float) -> float | None:
    """Give the time of the first fall from a high to a low level, crossings interpolated.

    Returns
    -------
    float or None
        None where the curve does not come from at least `high` to at most `low`.

    Examples
    --------
    >>> import numpy as np
    >>> fall_s(np.array([0.0, 10.0, 20.0]), np.array([100.0, 60.0, 0.0]), 80.0, 30.0)
    10.0
    """
    with np.errstate(invalid="ignore"):
        deep = np.flatnonzero(values <= low)
        above = np.flatnonzero(values[: deep[0]] >= high) if deep.size else deep
    if above.size == 0:
        return None
    start_s = _level_s(time_s, values, int(above[-1]), high)
    return _level_s(time_s, values, int(deep[0]) - 1, low) - start_s


def _level_s(time_s: Array, values: Array, before: int, level: float) -> float:
    """Time between two rows at which a falling curve meets a level."""
    first, second = float(values[before]), float(values[before + 1])
    start_s, stop_s = float(time_s[before]), float(time_s[before + 1])
    if not first > second:
        return start_s
    return start_s + (first - level) / (first - second) * (stop_s - start_s)
