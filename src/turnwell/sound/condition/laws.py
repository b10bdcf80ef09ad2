"""Which law the growth of a line follows: a power of the speed, or that and one resonance.

Both laws hold up to a ripple that the structure leaves on the level, a Gaussian process of unknown
size and reach along the logarithm of speed, on top of the known noise of each point. Offset and
exponent are integrated out (restricted likelihood); size and reach of the ripple, and frequency,
sharpness and height of the peak, are averaged over a grid of equal chances. The ratio of the two
averages is the evidence for the peak: that it may lie anywhere is paid for by the average itself.

References
----------
Restricted likelihood with a Gaussian process: [RASMUSSEN2006], 2.7. Ratio of averaged likelihoods
as evidence: [KASS1995].
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from turnwell.sound.quantity import Quantity

__all__ = ["Growing", "Peak", "judged"]

Floats = NDArray[np.float64]

_RIPPLE_DB = (0.03, 0.1, 0.4, 1.5, 4.0)
_REACH = (0.05, 0.17, 0.6)  # of the logarithm of the speed
_SHARPNESS = (3.0, 6.0, 12.0, 24.0, 48.0)
_HEIGHT_DB = (4.0, 9.0, 16.0, 25.0)
_GRID = 0.05  # between frequencies that are tried, of their logarithm
_FROM_END = 0.12
_FINE = 21
_LEAST_WEIGHT = 1e-6


@dataclass(frozen=True, slots=True)
class Peak:
    """A resonance: a peak at a fixed frequency on top of a power law.

    Parameters
    ----------
    frequency_hz : Quantity
    height_db, sharpness : float
        Above the power law; sharpness is the quality factor Q.
    exponent : Quantity
        Of the power law beneath.
    """

    frequency_hz: Quantity
    height_db: float
    sharpness: float
    exponent: Quantity


@dataclass(frozen=True, slots=True)
class Growing:
    """What the levels say about both laws.

    Parameters
    ----------
    log_evidence : float
        Natural logarithm of how much better a power law with one peak foretells the levels than a
        power law alone; below zero the power law alone does better.
    exponent : Quantity
        Of the speed in the amplitude, under the power law alone.
    ripple_db : float
        How far the levels stray about that law, one standard deviation.
    peak : Peak or None
        The likeliest peak; None where the evidence is against one.
    """

    log_evidence: float
    exponent: Quantity
    ripple_db: float
    peak: Peak | None


@dataclass(frozen=True, slots=True, eq=False)
class _Points:
    """What is fitted, one value a speed."""

    rotation_hz: Floats
    level_db: Floats
    sd_db: Floats


@dataclass(frozen=True, slots=True, eq=False)
class _Peaks:
    """Peaks to try: what each adds to the level at every point, shape (points, peaks)."""

    shape_db: Floats
    at_hz: Floats
    sharpness: Floats
    height_db: Floats


@dataclass(frozen=True, slots=True, eq=False)
class _Fits:
    """Fits of every ripple (row) to every template (column): likelihood, exponent, its spread."""

    log_likelihood: Floats
    exponent: Floats
    exponent_sd: Floats


def judged(rotation_hz: Floats, level_db: Floats, sd_db: Floats) -> Growing:
    """Judge the levels of a line against both laws.

    Parameters
    ----------
    rotation_hz : array, shape (n,)
        Rising, > 0; n >= 8, over a factor 2 or so.
    level_db, sd_db : arrays, shape (n,)
        Levels and the standard deviation of their noise, > 0.

    Examples
    --------
    >>> rotation_hz = np.geomspace(1_000.0, 6_000.0, 40)
    >>> level_db = 20.0 * np.log10(rotation_hz / 6_000.0) * 2.0
    >>> growing = judged(rotation_hz, level_db, np.full(40, 0.2))
    >>> round(growing.exponent.value, 3), growing.log_evidence < 0
    (2.0, True)
    """
    points = _Points(rotation_hz, level_db, sd_db)
    peaks = _peaks(rotation_hz, _places(rotation_hz), np.array(_SHARPNESS), np.array(_HEIGHT_DB))
    plain = _Peaks(np.zeros((rotation_hz.size, 1)), np.ones(1), np.ones(1), np.zeros(1))
    ripples = [(size, reach) for size in _RIPPLE_DB for reach in _REACH]
    straight = _fits(points, plain, ripples)
    peaked = _fits(points, peaks, ripples)
    evidence = _log_mean(peaked.log_likelihood) - _log_mean(straight.log_likelihood)
    exponent = _mixed(straight, _weights(straight.log_likelihood))
    peak = _likeliest_peak(points, peaks, peaked, ripples) if evidence > 0.0 else None
    return Growing(evidence, exponent, _about(points, exponent.value), peak)


def _places(rotation_hz: Floats) -> Floats:
    """Frequencies of a peak to try: inside the range, so that both its flanks are seen."""
    low, high = np.log(rotation_hz[0]) + _FROM_END, np.log(rotation_hz[-1]) - _FROM_END
    count = max(round((high - low) / _GRID), 1)
    return np.asarray(np.exp(np.linspace(low, high, count + 1)), np.float64)


def _peaks(rotation_hz: Floats, places_hz: Floats, sharpness: Floats, height_db: Floats) -> _Peaks:
    """Make every peak of both kinds: a hump on a carrying rest, and one mode that carries all.

    The mode is a mass on a spring: its response falls by 12 dB an octave above its frequency.
    """
    grid = np.meshgrid(places_hz, sharpness, height_db, indexing="ij")
    at_hz, quality, height = (part.ravel() for part in grid)
    off = rotation_hz[:, None] / at_hz - at_hz / rotation_hz[:, None]
    above = 10.0 ** (height / 10.0) - 1.0
    hump_db = 10.0 * np.log10(1.0 + above / (1.0 + (quality * off) ** 2))
    mode_hz, mode_quality = (part.ravel() for part in np.meshgrid(places_hz, sharpness))
    ratio = rotation_hz[:, None] / mode_hz
    mode_db = -10.0 * np.log10((1.0 - ratio**2) ** 2 + (ratio / mode_quality) ** 2)
    return _Peaks(
        shape_db=np.concatenate([hump_db, mode_db], axis=1),
        at_hz=np.concatenate([at_hz, mode_hz]),
        sharpness=np.concatenate([quality, mode_quality]),
        height_db=np.concatenate([height, 20.0 * np.log10(mode_quality)]),
    )


def _fits(
    points: _Points,
    peaks: _Peaks,
    ripples: list[tuple[float, float]],
) -> _Fits:
    """Fit offset and exponent by generalised least squares under each ripple."""
    along = np.log(points.rotation_hz)
    design = np.stack([np.ones_like(along), 20.0 / np.log(10.0) * (along - along.mean())], axis=1)
    apart = np.abs(along[:, None] - along)
    kernels = {reach: _smooth(np.sqrt(3.0) * apart / reach) for _, reach in ripples}
    rest = points.level_db[:, None] - peaks.shape_db
    both = np.concatenate([design, rest], axis=1)
    shape = (len(ripples), rest.shape[1])
    likelihood, exponent, spread = np.empty(shape), np.empty(shape), np.empty(shape)
    for row, (size, reach) in enumerate(ripples):
        root = np.linalg.cholesky(np.diag(points.sd_db**2) + size**2 * kernels[reach])
        white = np.linalg.inv(root) @ both
        basis, upper = np.linalg.qr(white[:, :2])
        share = basis.T @ white[:, 2:]
        misfit = np.sum(white[:, 2:] ** 2, axis=0) - np.sum(share**2, axis=0)
        volume = np.sum(np.log(np.diag(root))) + np.sum(np.log(np.abs(np.diag(upper))))
        likelihood[row] = -0.5 * misfit - volume
        exponent[row] = share[1] / upper[1, 1]
        spread[row] = 1.0 / abs(upper[1, 1])
    return _Fits(likelihood, exponent, spread)


def _smooth(distance: Floats) -> Floats:
    """Correlation of a ripple without kinks (Matérn, 3/2), as modes and echoes make it."""
    return np.asarray((1.0 + distance) * np.exp(-distance), np.float64)


def _about(points: _Points, exponent: float) -> float:
    """How far the levels stray about a power law, their noise taken off."""
    off_db = points.level_db - 20.0 * exponent * np.log10(points.rotation_hz)
    square = (off_db - off_db.mean()) ** 2 - points.sd_db**2
    return float(np.sqrt(max(float(square.mean()), 0.0)))


def _likeliest_peak(
    points: _Points,
    peaks: _Peaks,
    found: _Fits,
    ripples: list[tuple[float, float]],
) -> Peak:
    """Fit again on a finer grid of peaks around the best, under the likeliest ripples."""
    best = int(np.argmax(found.log_likelihood.max(axis=0)))
    near = np.exp(np.linspace(-1.5 * _GRID, 1.5 * _GRID, _FINE))
    fine = _peaks(
        points.rotation_hz,
        peaks.at_hz[best] * near,
        peaks.sharpness[best] * np.array([0.6, 0.77, 1.0, 1.3, 1.7]),
        np.maximum(peaks.height_db[best] + np.array([-4.0, -2.0, 0.0, 2.0, 4.0]), 0.5),
    )
    likely = np.argsort(found.log_likelihood.max(axis=1))[-4:]
    fits = _fits(points, fine, [ripples[int(row)] for row in likely])
    weight = _weights(fits.log_likelihood)
    each = weight.sum(axis=0)
    return Peak(
        frequency_hz=_weighted(fine.at_hz, each),
        height_db=float(each @ fine.height_db),
        sharpness=float(np.exp(each @ np.log(fine.sharpness))),
        exponent=_mixed(fits, weight),
    )


def _log_mean(log_values: Floats) -> float:
    top = float(log_values.max())
    return top + float(np.log(np.mean(np.exp(log_values - top))))


def _weights(log_likelihood: Floats) -> Floats:
    weight = np.exp(log_likelihood - log_likelihood.max())
    return np.asarray(weight / weight.sum(), np.float64)


def _mixed(fits: _Fits, weight: Floats) -> Quantity:
    """Mean and 95 % interval of a mixture of normal distributions of the exponent."""
    from scipy.special import ndtr

    used = weight > _LEAST_WEIGHT * weight.max()
    share, mean, spread = weight[used], fits.exponent[used], fits.exponent_sd[used]
    share = share / share.sum()

    def quantile(tail: float) -> float:
        low, high = float(np.min(mean - 8.0 * spread)), float(np.max(mean + 8.0 * spread))
        for _ in range(40):
            middle = 0.5 * (low + high)
            below = float(share @ ndtr((middle - mean) / spread)) < tail
            low, high = (middle, high) if below else (low, middle)
        return 0.5 * (low + high)

    low, high = quantile(0.025), quantile(0.975)
    return Quantity(min(max(float(share @ mean), low), high), low, high)


def _weighted(values: Floats, weight: Floats) -> Quantity:
    """Mean and 95 % interval of values on a grid, half a step of the grid wider."""
    places, number = np.unique(values, return_inverse=True)
    share = np.bincount(number, weights=weight)
    total = np.cumsum(share)
    first = int(np.searchsorted(total, 0.025))
    last = min(int(np.searchsorted(total, 0.975)), places.size - 1)
    half = np.exp(1.5 * _GRID / (_FINE - 1))
    middle = float(share @ places)
    return Quantity(middle, float(places[first] / half), float(places[last] * half))
