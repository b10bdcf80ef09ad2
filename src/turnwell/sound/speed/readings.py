"""Makes the readings of the speed from the runs that were found.

The interval of a speed holds what the lines themselves leave open, the spread over several runs,
and the error of the recorder's clock, which all samples share. The clock's part is rectangular and
often the largest, so the 95 % interval is taken from the distribution of the sum, not from its
variance alone. Where the shop has checked its microphone against a tachometer, what that check
shows takes the place of what is supposed of the clock.

References
----------
Sum of a rectangular and a normal quantity: propagation of distributions, [JCGM101], 6.4.2.
"""

from dataclasses import replace
from math import erf, exp, pi, sqrt

import numpy as np
from numpy.typing import NDArray

from turnwell.measure import Budget, Part, Reading, cannot_tell, common_error, reading
from turnwell.measure import repeatability as repeated
from turnwell.sound.agreement import check_sentence, own_check_part
from turnwell.sound.expectation import Expectation
from turnwell.sound.speed.runs import Run
from turnwell.units import hz_to_rpm
from turnwell.words import Message

__all__ = [
    "half_width",
    "independent_values",
    "no_speed",
    "readings_of",
    "shown_factor",
    "speed_budget",
]

_MOTOR_RPM = 45_000.0
_PRESSURE_SHARE = 0.03


def no_speed(expectation: Expectation, why: Message) -> tuple[Reading, ...]:
    """Give the readings when no speed was found."""
    key = "speed_heard" if _is_unlinked(expectation) else "free_running_speed"
    limit = None if _is_unlinked(expectation) else expectation.limit
    return (cannot_tell(key, "rpm", why, limit=limit),)


def readings_of(runs: tuple[Run, ...], expectation: Expectation) -> tuple[Reading, ...]:
    """Give the readings of the speed: of the bur, of the motor, and how much it wanders.

    Parameters
    ----------
    runs : tuple of Run
        At least one.
    expectation : Expectation
    """
    budget = speed_budget(runs, expectation)
    heard_hz = float(np.mean([run.mean_hz for run in runs]))
    if _is_unlinked(expectation):
        heard = _speed("speed_heard", budget, 1.0, why=Message("sound.heard_only"))
        return _with_check(heard, expectation), _wander(runs)
    factor = shown_factor(expectation, heard_hz)
    free = _speed(
        "free_running_speed", budget, factor, expectation=expectation, why=_why(expectation)
    )
    free = _with_check(free, expectation)
    if expectation.ratio is None or expectation.ratio == 1.0:
        return free, _wander(runs)
    return free, _speed("drive_speed", budget, factor * expectation.ratio), _wander(runs)


def speed_budget(runs: tuple[Run, ...], expectation: Expectation) -> Budget:
    """Give the budget of the speed heard, in rpm."""
    means = [hz_to_rpm(run.mean_hz) for run in runs]
    value = float(np.mean(means))
    own = sqrt(sum(hz_to_rpm(run.mean_sd_hz) ** 2 for run in runs)) / len(runs)
    checked = own_check_part(expectation.own_check, value)
    clock = common_error(value * expectation.clock_ppm * 1e-6, key="clock")
    parts = [Part("estimate", own), checked or clock]
    if len(runs) > 1:
        parts.append(repeated(means))
    return Budget(value, tuple(parts))


def half_width(budget: Budget, level: float = 0.95) -> float:
    """Half of the interval that holds the sum of all parts with the given probability.

    The clock's part is rectangular, the others together are normal (Student's t by the budget's own
    degrees of freedom when runs were repeated).

    >>> round(half_width(Budget(0.0, (common_error(1.0, key="clock"),))), 3)
    0.95
    >>> round(half_width(Budget(0.0, (Part("estimate", 1.0),))), 2)
    1.96
    """
    bound = sqrt(3.0) * sum(part.standard for part in budget.parts if part.key == "clock")
    rest = Budget(budget.value, tuple(part for part in budget.parts if part.key != "clock"))
    normal = rest.standard * rest.coverage_factor(0.95) / 1.959964 if rest.parts else 0.0
    low, high = 0.0, bound + 6.0 * normal + 1e-12
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if _held(middle, bound, normal) < level else (low, middle)
    return high


def _held(half: float, bound: float, normal: float) -> float:
    """Probability that a rectangular plus a normal error lies within ± half."""
    if normal < 1e-6 * (bound + half):
        return min(half / bound, 1.0) if bound > 0 else 1.0
    if bound < 1e-6 * normal:
        return erf(half / normal / sqrt(2.0))

    def rising(x: float) -> float:
        z = x / normal
        return x * 0.5 * (1.0 + erf(z / sqrt(2.0))) + normal * exp(-0.5 * z * z) / sqrt(2.0 * pi)

    below = (rising(half + bound) - rising(half - bound)) / (2.0 * bound)
    return 2.0 * below - 1.0


def shown_factor(expectation: Expectation, heard_hz: float) -> float:
    """Speed of the bur over the speed heard; 1 where they are not linked.

    Behind a reducing gear the motor is heard. Behind an increasing one the bur is, unless what is
    heard is no faster than a motor turns.
    """
    ratio = expectation.ratio
    if ratio is None or ratio == 1.0:
        return 1.0
    if ratio < 1.0 and hz_to_rpm(heard_hz) > _MOTOR_RPM:
        return 1.0
    return 1.0 / ratio


def _with_check(speed: Reading, expectation: Expectation) -> Reading:
    """Say what the interval owes to a check against a tachometer, or that there was none."""
    check = check_sentence(expectation.own_check, expectation.clock_ppm)
    return replace(speed, why=Message("agreement.speed", {"first": speed.why, "check": check}))


def _is_unlinked(expectation: Expectation) -> bool:
    return expectation.is_geared and expectation.ratio is None


def _speed(
    key: str,
    budget: Budget,
    factor: float,
    *,
    expectation: Expectation | None = None,
    why: Message | None = None,
) -> Reading:
    half = half_width(budget)
    return reading(
        key,
        budget.value * factor,
        (budget.value - half) * factor,
        (budget.value + half) * factor,
        "rpm",
        limit=None if expectation is None else expectation.limit,
        unproven=None if expectation is None else _unproven(expectation),
        why=why,
    )


def _why(expectation: Expectation) -> Message | None:
    return None if expectation.limit is not None else Message("sound.no_label")


def _unproven(expectation: Expectation) -> Message | None:
    """Say why a label speed says nothing about this test."""
    label, actual = expectation.label_pressure_kpa, expectation.pressure_kpa
    if label is None or actual is None or abs(actual / label - 1.0) <= _PRESSURE_SHARE:
        return None
    return Message("sound.other_pressure", {"actual_kpa": actual, "label_kpa": label})


def _wander(runs: tuple[Run, ...]) -> Reading:
    """How much the speed wanders about its mean, one standard deviation, in per cent.

    The interval holds what noise leaves open, and that some seconds are a sample of how a handpiece
    wanders: as many independent values as the track's own correlation says.
    """
    from scipy.special import chdtri

    weights = np.array([run.steady_s for run in runs])
    low, middle, high = (
        float(np.average([getattr(run.spread, key) for run in runs], weights=weights))
        for key in ("low", "middle", "high")
    )
    freedom = max(sum(independent_values(run.rotation_hz) for run in runs) - len(runs), 2.0)
    low *= freedom / chdtri(freedom, 0.025)
    high *= freedom / chdtri(freedom, 0.975)
    low, value, high = (100.0 * sqrt(variance) for variance in (low, middle, high))
    return reading("speed_wander", value, low, high, "%", why=Message("sound.wander"))


def independent_values(track: NDArray[np.float64]) -> float:
    """Give how many independent values would tell the variance as well as a track does.

    That is n over the sum of the squared correlations at every lag.

    >>> round(independent_values(np.tile([1.0, -1.0], 150)), 1)
    1.5
    >>> independent_values(np.ones(300))
    1.0
    """
    away = track - track.mean()
    power = np.abs(np.fft.rfft(away, 2 * away.size)) ** 2
    covariance = np.fft.irfft(power)[: away.size]
    if covariance[0] <= 0.0:
        return 1.0
    squared = (covariance / covariance[0]) ** 2
    return float(max(away.size / (2.0 * squared.sum() - 1.0), 1.0))
