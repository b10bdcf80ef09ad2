"""The panels of a cycle trace: how they share the height, and the scale of each."""

from dataclasses import dataclass
from math import ceil, floor

from turnwell.pictures.cycle_run import CycleRun, Series

__all__ = ["TALL", "Panel", "panels_of"]

# Height of the plot, in pixels.
TALL = 440
# How far off the difference's panel reaches at least, and at most, in K.
LEAST_K, MOST_K = 3.0, 12.0
FAR = 2.2


@dataclass(frozen=True, slots=True)
class Panel:
    """A band of the plot with its own scale; `top` and `bottom` in pixels from above."""

    key: str
    top: float
    bottom: float
    low: float
    high: float
    levels: tuple[float, ...]

    def y(self, value: float) -> float:
        """Give the height of a value in pixels; beyond the ends it is held there."""
        part = (min(max(value, self.low), self.high) - self.low) / (self.high - self.low)
        return round(self.bottom - part * (self.bottom - self.top), 2)


def panels_of(run: CycleRun, top: float) -> list[Panel]:
    """Share the height from `top` down among what was logged."""
    shares = {"temperature": 4.0, "pressure": 4.0, "difference": 2.0}
    curves = {
        "temperature": run.temperature,
        "pressure": run.pressure,
        "difference": run.difference,
    }
    drawn = [key for key in shares if curves[key].points]
    room = TALL - top - 26.0 * len(drawn)
    panels = []
    for key in drawn:
        tall = room * shares[key] / sum(shares[one] for one in drawn)
        low, high, levels = _scale(key, curves[key], run)
        panels.append(Panel(key, top + 24.0, top + 24.0 + tall, low, high, levels))
        top += tall + 26.0
    return panels


def _scale(key: str, curve: Series, run: CycleRun) -> tuple[float, float, tuple[float, ...]]:
    """Give the ends of a panel's scale and the values that are written beside it."""
    numbers = [value for _, value in curve.points]
    if key == "difference":
        # Before the plateau air may still be there: what counts is the steam that is held.
        held = run.held(curve) or numbers
        reach = min(
            max(LEAST_K, 1.5 * max(map(abs, run.allowed_k)), 1.25 * max(map(abs, held))), MOST_K
        )
        # Far off, what is allowed is too narrow to be written beside: the wash shows it.
        far = float(round(0.6 * reach))
        low, high = run.allowed_k if reach < FAR * max(run.allowed_k) else (-far, far)
        return -reach, reach, (low, 0.0, high)
    if key == "pressure":
        top = max(*numbers, run.atmosphere_kpa)
        return 0.0, 1.06 * top, tuple(100.0 * n for n in range(int(1.06 * top / 100.0) + 1))
    low = floor(min(numbers) / 20.0) * 20.0
    high = max([*numbers, *(run.band_c or ())]) + 4.0
    step = 20.0 if high - low <= 90.0 else 40.0
    levels = [step * n for n in range(ceil(low / step), int(high / step) + 1)]
    if run.band_c is not None:
        # The set temperature takes the place of the round one nearest to it.
        levels = [one for one in levels if abs(one - run.band_c[0]) > 0.3 * step]
        levels.append(run.band_c[0])
    return low, high, tuple(levels)
