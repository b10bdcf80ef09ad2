"""The falling speed as a law with departures from it, and what follows at chosen instants.

No rotor obeys a law of three terms exactly: a resonance takes more at one speed, oil warms. The
speed is taken as the law, its start and rates free, plus a departure whose slope is a twice
integrated random walk, plus the independent errors of the points. How large departures are is
learnt from the points: their restricted likelihood is averaged over, an even chance being given
beforehand to none. With a rotor that obeys the law the estimate is the fit of the law; with one
that does not, the curve follows the points and the intervals widen, of the speed, of its slope, and
of the times taken from it.

References
----------
Integrated random walks as prior of a smooth curve, and their restricted likelihood: [WAHBA1985].
Law plus departure as a model of a law that is not quite true: [KENNEDY2001].
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from turnwell.sound.coast.law import DragLaw

__all__ = ["Curve", "Stand", "curve_of"]

Floats = NDArray[np.float64]

# Departure at the end of the track, relative to the start speed, that is tried: from none that
# could be seen to one that makes the law useless.
_DEPARTURES = np.logspace(-5.0, -0.5, 28)
_OBEYS = 0.5  # chance beforehand that none can be seen
_FLAT = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class Stand:
    """Speed and slope at some instants, with the covariance of all of them.

    Parameters
    ----------
    value : array, shape (2 n,)
        Speeds at the instants, in units of the start speed, then slopes, per unit of time.
    covariance : array, shape (2 n, 2 n)
    """

    value: Floats
    covariance: Floats

    @property
    def speed(self) -> Floats:
        """Speeds at the instants."""
        return self.value[: self.value.size // 2]

    @property
    def slope(self) -> Floats:
        """Slopes at the instants."""
        return self.value[self.value.size // 2 :]


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """A law with departures, laid through points; time and speed in units of the track.

    Parameters
    ----------
    law : DragLaw
        The law about which the curve is linear.
    start : float
        Speed of the law at time 0.
    time : array, shape (n,)
        Times of the points.
    origin : float
        Where the departures begin.
    modes, eigen : arrays, shape (n, n) and (n,)
        Combinations of the points that are independent, one a column, and the variance in each of
        departures of unit size, the errors' being 1.
    tangent : array, shape (n, p)
        Free directions of the law, in modes.
    directions : array, shape (4, p)
        The same as changes of the start speed and the rates.
    rest : array, shape (n,)
        Points less law, in modes.
    ratios, chance, scale : arrays, shape (r,)
        Variances of the departures tried, the chance of each, and by how much the points scatter
        more than their errors say.
    """

    law: DragLaw
    start: float
    time: Floats
    origin: float
    modes: Floats
    eigen: Floats
    tangent: Floats
    directions: Floats
    rest: Floats
    ratios: Floats
    chance: Floats
    scale: Floats

    def speed_at(self, instants: Floats) -> Floats:
        """Give the speed at instants."""
        towards, kernel, _ = self._parts(instants)
        count = instants.size
        moved = np.array([self._moved(ratio) for ratio in self.ratios])
        pulled = np.array(
            [self._pulled(ratio, one) for ratio, one in zip(self.ratios, moved, strict=True)]
        )
        base = self.law.speed_rad_s(self.start, instants)
        return np.asarray(
            base + towards[:count] @ (self.chance @ moved) + kernel[:count] @ (self.chance @ pulled)
        )

    def at(self, instants: Floats) -> Stand:
        """Give speed and slope at some instants with their covariance."""
        towards, kernel, own = self._parts(instants)
        speed = self.law.speed_rad_s(self.start, instants)
        base = np.concatenate([speed, -self.law.deceleration_rad_s2(speed)])
        values, spreads = [], []
        for ratio, scale in zip(self.ratios, self.scale, strict=True):
            moved = self._moved(ratio)
            values.append(base + towards @ moved + kernel @ self._pulled(ratio, moved))
            weighted = ratio * kernel / (1.0 + ratio * self.eigen)
            free = (towards - weighted @ self.tangent) @ self._root(ratio)
            spreads.append(scale * (ratio * (own - kernel @ weighted.T) + free @ free.T))
        value = self.chance @ np.array(values)
        apart = np.array(values) - value
        between = (self.chance[:, None] * apart).T @ apart
        return Stand(value, np.tensordot(self.chance, np.array(spreads), axes=1) + between)

    def sd_at_points(self) -> Floats:
        """Give the standard deviation of the speed at the points."""
        towards, kernel, _ = self._parts(self.time)
        count = self.time.size
        towards, kernel = towards[:count], kernel[:count]
        own = (self.time - self.origin) ** 5 / 20.0
        variance = np.zeros(count)
        for ratio, scale, chance in zip(self.ratios, self.scale, self.chance, strict=True):
            weighted = ratio * kernel / (1.0 + ratio * self.eigen)
            free = (towards - weighted @ self.tangent) @ self._root(ratio)
            within = ratio * (own - np.sum(kernel * weighted, axis=1)) + np.sum(free**2, axis=1)
            variance += chance * scale * within
        return np.sqrt(np.maximum(variance, 0.0))

    def _parts(self, instants: Floats) -> tuple[Floats, Floats, Floats]:
        """Directions of the law, and departures of unit size with the points and by themselves."""
        since = instants - self.origin
        towards = _with_slopes(self.law, self.start, instants) @ self.directions
        kernel = _kernel_rows(since, self.time - self.origin) @ self.modes
        return towards, kernel, _kernel_of_rows(since)

    def _root(self, ratio: float) -> Floats:
        """Give a matrix whose square is the covariance of the law's free directions."""
        weight = 1.0 / (1.0 + ratio * self.eigen)
        normal = self.tangent.T @ (weight[:, None] * self.tangent)
        return np.asarray(np.linalg.inv(np.linalg.cholesky(normal)).T, np.float64)

    def _moved(self, ratio: float) -> Floats:
        """Give how far the law moves in its free directions."""
        root = self._root(ratio)
        weighted = self.rest / (1.0 + ratio * self.eigen)
        return np.asarray(root @ (root.T @ (self.tangent.T @ weighted)), np.float64)

    def _pulled(self, ratio: float, moved: Floats) -> Floats:
        """Give the pull of each mode on the departures."""
        return np.asarray(
            ratio / (1.0 + ratio * self.eigen) * (self.rest - self.tangent @ moved), np.float64
        )

    def whitened(self, values: Floats) -> Floats:
        """Give values at the points, shape (n, ...), made independent with variance 1."""
        ratio, scale = self.chance @ self.ratios, self.chance @ self.scale
        spread = np.sqrt(scale * (1.0 + ratio * self.eigen))
        return np.asarray(((self.modes.T @ values).T / spread).T, np.float64)


def curve_of(law: DragLaw, start: float, time: Floats, speed: Floats, error: Floats) -> Curve:
    """Lay a law with departures through points.

    Parameters
    ----------
    law, start : DragLaw, float
        A law near the points, its speed at time 0.
    time, speed, error : arrays, shape (n,)
        Points and their standard deviations, scaled so that time ends at 1 and speed starts at 1.
    """
    origin = float(time[0]) - 0.1
    kernel = _kernel_rows(time - origin, time - origin)[: time.size]
    eigen, modes = np.linalg.eigh(kernel / np.outer(error, error))
    eigen = np.maximum(eigen, 0.0)
    modes /= error[:, None]
    rest = modes.T @ (speed - law.speed_rad_s(start, time))
    directions, tangent = _free(modes.T @ law.sensitivity(start, time).T)
    ratios = np.append(0.0, 20.0 * _DEPARTURES**2)
    prior = np.append(_OBEYS, np.full(_DEPARTURES.size, (1.0 - _OBEYS) / _DEPARTURES.size))
    chance, scale = _chance(eigen, tangent, rest, ratios, prior)
    kept = chance > 1e-4
    return Curve(
        law=law,
        start=start,
        time=time,
        origin=origin,
        modes=modes,
        eigen=eigen,
        tangent=tangent,
        directions=directions,
        rest=rest,
        ratios=ratios[kept],
        chance=chance[kept] / chance[kept].sum(),
        scale=scale[kept],
    )


def _free(columns: Floats) -> tuple[Floats, Floats]:
    """Give independent directions of the law, as changes of its parameters and in modes."""
    size = np.linalg.norm(columns, axis=0)
    left, strength, right = np.linalg.svd(columns / size, full_matrices=False)
    kept = strength > _FLAT * strength[0]
    directions = (right[kept] / size).T / strength[kept]
    return directions, left[:, kept]


def _chance(
    eigen: Floats, tangent: Floats, rest: Floats, ratios: Floats, prior: Floats
) -> tuple[Floats, Floats]:
    """Give how likely each size of the departures is, and the scatter over the stated errors."""
    freedom = rest.size - tangent.shape[1]
    likelihood, scales = np.empty(ratios.size), np.empty(ratios.size)
    for row, ratio in enumerate(ratios):
        weight = 1.0 / (1.0 + ratio * eigen)
        normal = tangent.T @ (weight[:, None] * tangent)
        projected = tangent.T @ (weight * rest)
        misfit = float(rest @ (weight * rest) - projected @ np.linalg.solve(normal, projected))
        scale = max(1.0, misfit / freedom)
        spread = -np.sum(np.log(weight)) + np.linalg.slogdet(normal)[1]
        likelihood[row] = -0.5 * (spread + freedom * np.log(scale) + misfit / scale)
        scales[row] = scale
    chance = prior * np.exp(likelihood - likelihood.max())
    return chance / chance.sum(), scales


def _with_slopes(law: DragLaw, start: float, time: Floats) -> Floats:
    """Sensitivities of speeds and then of slopes, shape (2 n, 4)."""
    by = law.sensitivity(start, time)
    speed = law.speed_rad_s(start, time)
    rising = law.linear_per_s + 2.0 * law.quadratic_per_rad * speed
    terms = np.stack([np.zeros_like(speed), np.ones_like(speed), speed, speed**2])
    return np.concatenate([by.T, (-rising * by - terms).T])


def _kernel_rows(at: Floats, time: Floats) -> Floats:
    """Covariance of departures and their slopes at instants with those at points."""
    at = at[:, None]
    low, gap = np.minimum(at, time), np.abs(time - at)
    value = low**3 * (low**2 / 20.0 + gap * low / 8.0 + gap**2 / 12.0)
    before = at**2 * (at**2 / 8.0 + gap * at / 3.0 + gap**2 / 4.0)
    after = time**3 * (time / 8.0 + gap / 6.0)
    return np.concatenate([value, np.where(at < time, before, after)])


def _kernel_of_rows(at: Floats) -> Floats:
    """Covariance of departures and slopes at instants among themselves."""
    with_value = _kernel_rows(at, at)
    value, slope = with_value[: at.size], with_value[at.size :]
    low, high = np.minimum(at[:, None], at), np.maximum(at[:, None], at)
    return np.block([[value, slope.T], [slope, low**2 * (3.0 * high - low) / 6.0]])
