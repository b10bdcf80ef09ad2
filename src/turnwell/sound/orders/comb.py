"""How far the lines of a comb, taken together, stand out of an order spectrum.

A comb is an order with its harmonics, each with a line to either side where the source goes through
the loaded zone. A place on the spectrum is judged by its surprise U = -ln(chance of so much power
in noise), which is exponential with mean 1 in noise whatever the number of lines:

1. the power of a line, averaged over the bins that slip spreads it over, is a gamma variable; the
   cube root of Wilson and Hilferty makes it normal, u = -ln of its upper tail;
2. lines are joined by the sum of u ([FISHER1932]), a line to the side counting no more than the
   line between, so that a strong neighbour at the place of a side line proves nothing;
3. the sum is held against its own distribution.

References
----------
[FISHER1932], section 21.1; [WILSON1931].
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache
from math import sqrt

import numpy as np
from numpy.typing import NDArray
from scipy.special import log_ndtr

from turnwell.sound.orders.bearing import Span
from turnwell.sound.orders.spectrum import OrderSpectrum, bin_correlation

__all__ = [
    "HARMONICS",
    "Comb",
    "Family",
    "Judged",
    "Smoothed",
    "limit_power",
    "line_width",
    "surprise",
]

Floats = NDArray[np.float64]

HARMONICS = 3
# Width of a line over its order after impulses whose spacing varies by 1 %: 0.01² 2π; the h-th
# harmonic is h times as wide relative to its order.
_SLIP_WIDTH = 6.3e-4
_WIDEST_BINS = 12
# A sum is coded by how many harmonics have 0, 1, 2 side lines, as digits to this base.
_BASE = HARMONICS + 1
_MOST_SIDES = 3
# A family is set aside this far about a line at most, and for this doubt about its order.
_FARTHEST, _DOUBT = 0.15, 1e-3


@dataclass(frozen=True, slots=True)
class Comb:
    """What lines to look for about an order.

    Parameters
    ----------
    order : float
        Nominal order of the first line; sets how wide lines are taken to be.
    side : float
        Distance of the lines to either side; 0 where there are none.
    """

    order: float
    side: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Smoothed:
    """What lines of some width say at every bin.

    Parameters
    ----------
    power : array, shape (bins,)
        Mean of neighbouring bins.
    freedom : array, shape (bins,)
        Shape of its gamma distribution in noise; 0 where it cannot be heard.
    surprise : array, shape (bins,)
        -ln of the chance of so large a mean in noise.
    """

    power: Floats
    freedom: Floats
    surprise: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Judged:
    """A spectrum with some of its bins closed, and what its lines say for several widths.

    Parameters
    ----------
    spectrum : OrderSpectrum
    is_open : array of bool, shape (bins,)
        Bins that count.
    """

    spectrum: OrderSpectrum
    is_open: NDArray[np.bool_]
    _by_width: dict[int, Smoothed] = field(default_factory=dict)

    def smoothed(self, reach: int) -> Smoothed:
        """Give every bin's mean over ± `reach` open bins."""
        if reach not in self._by_width:
            counts = _window_sums(self.is_open.astype(np.float64), reach)
            power = _window_sums(np.where(self.is_open, self.spectrum.power, 0.0), reach)
            enough = self.is_open & (counts > reach)
            mean = np.where(enough, power / np.maximum(counts, 1.0), 1.0)
            freedom = self.spectrum.freedom * counts / _sharing(reach)
            freedom = np.where(enough, freedom, 0.0)
            self._by_width[reach] = Smoothed(mean, freedom, _line_surprise(mean, freedom))
        return self._by_width[reach]

    def without(self, *families: "Family") -> "Judged":
        """Give the same spectrum with the bins of all lines of some families closed."""
        is_open = self.is_open.copy()
        step = self.spectrum.order_step
        for family in families:
            for line in family.lines(self.spectrum.highest_order):
                low = max(round(line.low / step) - 3, 0)
                is_open[low : max(round(line.high / step) + 4, 0)] = False
        return Judged(self.spectrum, is_open)


@dataclass(frozen=True, slots=True)
class Family:
    """All lines that one source makes: harmonics of an order, each with side lines.

    Parameters
    ----------
    place, side : float
        Order of the first line, and distance of the side lines; 0 where there are none.
    power : float
        Of its strongest line over the noise, at least 1.
    """

    place: float
    side: float = 0.0
    power: float = 1.0

    def lines(self, highest_order: float) -> Iterator[Span]:
        """Yield every line up to an order, as wide as it reaches out of the noise.

        Random slip gives a line the shape of a resonance, whose flanks reach as far as the root of
        its power.
        """
        # In an envelope the passing of the loaded zone also shows by itself.
        for count in range(1, _MOST_SIDES + 1) if self.side else ():
            yield _about(count * self.side, 0.0)
        for harmonic in range(1, int((highest_order + _MOST_SIDES * self.side) / self.place) + 1):
            half = 0.5 * line_width(self.place, harmonic)
            reach = max(min(half * sqrt(self.power), _FARTHEST), half)
            for count in range(-_MOST_SIDES, _MOST_SIDES + 1) if self.side else (0,):
                yield _about(harmonic * self.place + count * self.side, reach)


def _about(order: float, reach: float) -> Span:
    reach += _DOUBT * abs(order)
    return Span(order, order - reach, order + reach)


def line_width(order: float, harmonic: int) -> float:
    """Width, in orders, over which slip spreads a harmonic of an order."""
    return _SLIP_WIDTH * harmonic**2 * order


def surprise(
    judged: Judged, comb: Comb, places: Floats, *, harmonics: int = HARMONICS
) -> tuple[Floats, NDArray[np.int64]]:
    """Give the surprise U at each place of a comb, and which lines it is taken from.

    Parameters
    ----------
    judged : Judged
    comb : Comb
    places : array
        Orders of the first line.
    harmonics : int
        How many lines to join, 1 to `HARMONICS`.

    Returns
    -------
    tuple of two arrays
        U, and which lines are heard there, coded as in `_shapes`; both 0 where none is.
    """
    total, kind = np.zeros(places.size), np.zeros(places.size, np.int64)
    for harmonic in range(1, harmonics + 1):
        lines = judged.smoothed(_reach(judged, comb, harmonic))
        middle, seen = _at(judged, harmonic * places, lines)
        total += middle
        sides = np.zeros(places.size, np.int64)
        if comb.side:
            for way in (-1.0, 1.0):
                beside, heard = _at(judged, harmonic * places + way * comb.side, lines)
                total += np.minimum(beside, middle)
                sides += heard
        kind += np.where(seen, _BASE**sides, 0)
    return _sum_surprise(total, kind), kind


def limit_power(judged: Judged, comb: Comb, place: float, wanted: float) -> float:
    """Give the power of a single line at which the surprise of a place reaches a value.

    The other lines are taken to be noise, at their mean. Infinite where the place is not heard.
    """
    freedom = judged.smoothed(_reach(judged, comb, 1)).freedom
    at = min(round(place / judged.spectrum.order_step), freedom.size - 1)
    _, kind = surprise(judged, comb, np.array([place]))
    if freedom[at] == 0.0:
        return float("inf")
    sums = np.linspace(0.0, 2.0 * wanted + 60.0, 2_000)
    enough = _sum_surprise(sums, np.repeat(kind, sums.size)) >= wanted
    others = max(float(_shapes()[kind[0]] @ np.arange(3 * HARMONICS + 1)) - 1.0, 0.0)
    alone = max(float(sums[np.argmax(enough)]) - others, 0.0)
    powers = np.geomspace(1.0, 1e6, 4_000)
    u = _line_surprise(powers, np.full(powers.size, freedom[at]))
    return float(np.interp(alone, u, powers))


def _reach(judged: Judged, comb: Comb, harmonic: int) -> int:
    """Bins to either side over which a line is averaged."""
    half = 0.5 * line_width(comb.order, harmonic) / judged.spectrum.order_step
    return min(round(half), _WIDEST_BINS)


def _at(judged: Judged, orders: Floats, lines: Smoothed) -> tuple[Floats, NDArray[np.bool_]]:
    """Read the surprise at orders, and whether they are heard."""
    bins = np.rint(orders / judged.spectrum.order_step).astype(np.int64)
    inside = (bins >= 0) & (bins < lines.surprise.size)
    bins = np.where(inside, bins, 0)
    heard = inside & (lines.freedom[bins] > 0.0)
    return np.where(heard, lines.surprise[bins], 0.0), heard


def _line_surprise(mean: Floats, freedom: Floats) -> Floats:
    """Give -ln of the chance of so large a mean in noise; 0 where freedom is 0."""
    spread = 1.0 / (9.0 * np.maximum(freedom, 1e-9))
    z = (np.cbrt(np.maximum(mean, 0.0)) - 1.0 + spread) / np.sqrt(spread)
    return np.where(freedom > 0.0, -log_ndtr(-z), 0.0)


def _sum_surprise(total: Floats, kind: NDArray[np.int64]) -> Floats:
    """Give -ln of the chance of so large a sum in noise: t - ln of a polynomial in t."""
    table = _polynomials()[kind]
    value = table[..., -1]
    for power in range(table.shape[-1] - 2, -1, -1):
        value = value * total + table[..., power]
    return total - np.log(value)


@cache
def _shapes() -> Floats:
    """Chance of each shape (columns) of the gamma variable that a sum of each kind (rows) is.

    Of three exponential variables u, v, w the sum u + min(v, u) + min(w, u) has shape 3, 2 or 1
    when u is the largest, the middle one or the smallest, a third each: the gaps between ordered
    exponential variables are exponential themselves. With one side line it has shape 2 or 1, a half
    each.
    """
    one = ([0.0, 1.0], [0.0, 0.5, 0.5], [0.0, 1 / 3, 1 / 3, 1 / 3])
    rows = np.zeros((_BASE**3, 3 * HARMONICS + 1))
    for kind in range(len(rows)):
        counts = [kind // _BASE**sides % _BASE for sides in range(3)]
        if sum(counts) > HARMONICS:
            continue
        chance = np.ones(1)
        for sides, count in enumerate(counts):
            for _ in range(count):
                chance = np.convolve(chance, one[sides])
        rows[kind, : chance.size] = chance
    return rows


@cache
def _polynomials() -> Floats:
    """Coefficients of the polynomial p in P(sum > t) = p(t) exp(-t), one row a kind of sum."""
    shapes = _shapes()
    beyond = np.cumsum(shapes[:, ::-1], axis=1)[:, ::-1][:, 1:]
    factorials = np.cumprod(np.maximum(np.arange(beyond.shape[1]), 1)).astype(np.float64)
    beyond[0, 0] = 1.0
    return np.asarray(beyond / factorials, np.float64)


def _window_sums(values: Floats, reach: int) -> Floats:
    """Sum over ± `reach` neighbours."""
    if reach == 0:
        return values
    total = np.concatenate([np.zeros(reach + 1), np.cumsum(values), np.full(reach, values.sum())])
    sums: Floats = total[2 * reach + 1 :] - total[: -2 * reach - 1]
    return sums


def _sharing(reach: int) -> float:
    """Bins that say the same thing: variance of a mean of neighbours over that of as many apart."""
    count = 2 * reach + 1
    pairs = sum(
        (count - apart) * value
        for apart, value in enumerate(bin_correlation())
        if 0 < apart < count
    )
    return 1.0 + 2.0 * pairs / count
