"""Infers the number of balls and d cos α / D of a bearing whose geometry is not known.

With r = (d/D) cos α the order of the outer ring's line and that of the inner ring's add up to the
number of balls Z, a whole number, and the outer ring's is Z times the cage's. Both hold at any
contact angle and with any slip, so two lines are enough to try Z on, and a third is a check.

In a spectrum, the pairs of places that add up to a whole number are held against pairs that add up
to what no bearing can give, such as 7.4: those tell what the recording gives by chance.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import permutations
from math import exp, isfinite, log, pi, sqrt
from typing import Any

import numpy as np
from numpy.typing import NDArray

from turnwell.errors import InputError
from turnwell.sound.orders.bearing import Part, Span
from turnwell.sound.orders.comb import Comb, Family, Judged, surprise
from turnwell.sound.orders.spectrum import OrderSpectrum

__all__ = ["InferredBearing", "MeasuredLine", "bearing_from_lines", "infer_bearing"]

Floats = NDArray[np.float64]

FEWEST_BALLS, MOST_BALLS = 5, 16
LEAST_RATIO, LARGEST_RATIO = 0.1, 0.4
# Where two lines have nothing to do with a bearing they may lie anywhere up to this order.
_UNRELATED_UP_TO = 10.0
_IMPOSSIBLE = (0.3, 0.4, 0.6, 0.7)
_SURE = 0.99
# A side line of the inner ring also adds up to a whole number, to one more or one less; the line
# between two side lines must say clearly more.
_RIVAL = 0.9
# The lines of a pair are set aside as widely as lines of 20 dB reach.
_STRONG = 100.0
# No surprise counts for more than this: no model of noise holds so far.
_MOST_SURPRISE = 14.0
_RINGS_AND_CAGE = (Part.CAGE, Part.OUTER_RING, Part.INNER_RING)


@dataclass(frozen=True, slots=True)
class MeasuredLine:
    """The order of a line, and its standard deviation; both > 0."""

    order: float
    sd: float

    def __post_init__(self) -> None:
        for name, value in (("order", self.order), ("standard deviation", self.sd)):
            if not (isfinite(value) and value > 0.0):
                raise InputError(f"the {name} of a line is {value}, must be a number > 0")


@dataclass(frozen=True, slots=True)
class InferredBearing:
    """What the lines say about a bearing.

    Parameters
    ----------
    balls : int
    balls_chance : float
        Chance that this is the number of balls, 0 to 1.
    ratio : Span
        r = d cos α / D with its 95 % interval, given this number of balls.
    """

    balls: int
    balls_chance: float
    ratio: Span

    def as_dict(self) -> dict[str, Any]:
        """Give the bearing as JSON values."""
        ratio = {"value": self.ratio.value, "low": self.ratio.low, "high": self.ratio.high}
        return {"balls": self.balls, "balls_chance": self.balls_chance, "ratio": ratio}


@dataclass(frozen=True, slots=True)
class _Fit:
    """How well some lines fit a number of balls and parts: logarithm of the evidence."""

    evidence: float
    balls: int
    ratio: float
    ratio_sd: float


def bearing_from_lines(lines: Sequence[MeasuredLine]) -> InferredBearing | None:
    """Infer a bearing from two or three lines, not knowing which part each belongs to.

    Every number of balls from 5 to 16 and every way to give the lines to cage, outer and inner ring
    is weighed by its evidence, r being anywhere from 0.1 to 0.4, against lines that have nothing to
    do with one another.

    Parameters
    ----------
    lines : sequence of MeasuredLine
        Two or three, of first harmonics.

    Returns
    -------
    InferredBearing or None
        None where no number of balls is more likely than not.

    Raises
    ------
    InputError
        If there are fewer than two lines or more than three.

    Examples
    --------
    >>> found = bearing_from_lines([MeasuredLine(3.585, 0.002), MeasuredLine(5.415, 0.002)])
    >>> found.balls, round(found.ratio.value, 3)
    (9, 0.203)
    """
    if not 2 <= len(lines) <= 3:
        raise InputError(f"{len(lines)} lines are given; give two or three")
    fits = list(_fits(lines))
    if not fits:
        return None
    unrelated = -len(lines) * log(_UNRELATED_UP_TO)
    top = max(*(fit.evidence for fit in fits), unrelated)
    ways = len(_ways(len(lines))) * (MOST_BALLS - FEWEST_BALLS + 1)
    weights = dict.fromkeys(range(FEWEST_BALLS, MOST_BALLS + 1), 0.0)
    for fit in fits:
        weights[fit.balls] += exp(fit.evidence - top) / ways
    total = sum(weights.values()) + exp(unrelated - top)
    balls = max(weights, key=lambda number: weights[number])
    if weights[balls] < 0.5 * total:
        return None
    best = max((fit for fit in fits if fit.balls == balls), key=lambda fit: fit.evidence)
    half = 1.959964 * best.ratio_sd
    span = Span(best.ratio, best.ratio - half, best.ratio + half)
    return InferredBearing(balls, weights[balls] / total, span)


def _ways(count: int) -> list[tuple[Part, ...]]:
    """Give the ways in which lines can be given to different parts."""
    return list(permutations(_RINGS_AND_CAGE, count))


def _fits(lines: Sequence[MeasuredLine]) -> Iterator[_Fit]:
    for balls in range(FEWEST_BALLS, MOST_BALLS + 1):
        for parts in _ways(len(lines)):
            fit = _fit(lines, parts, balls)
            if fit is not None:
                yield fit


def _fit(lines: Sequence[MeasuredLine], parts: tuple[Part, ...], balls: int) -> _Fit | None:
    """Fit r to lines of known parts; None where it lies outside its range.

    Each order is a + b r, so that the evidence, integrated over r, has a closed form.
    """
    level = np.array([0.5 if part is Part.CAGE else 0.5 * balls for part in parts])
    slope = np.array(
        [level[n] * (1.0 if p is Part.INNER_RING else -1.0) for n, p in enumerate(parts)]
    )
    order = np.array([line.order for line in lines])
    sd = np.array([line.sd for line in lines])
    precision = float(np.sum((slope / sd) ** 2))
    ratio = float(np.sum(slope * (order - level) / sd**2) / precision)
    if not LEAST_RATIO <= ratio <= LARGEST_RATIO:
        return None
    misfit = float(np.sum(((order - level - slope * ratio) / sd) ** 2))
    ratio_sd = 1.0 / sqrt(precision)
    evidence = -0.5 * misfit - float(np.sum(np.log(sd * sqrt(2.0 * pi))))
    evidence += log(ratio_sd * sqrt(2.0 * pi) / (LARGEST_RATIO - LEAST_RATIO))
    return _Fit(evidence, balls, ratio, ratio_sd)


def infer_bearing(spectra: Sequence[OrderSpectrum]) -> InferredBearing | None:
    """Infer a bearing from order spectra in which lines of both of its rings stand out.

    Parameters
    ----------
    spectra : sequence of OrderSpectrum

    Returns
    -------
    InferredBearing or None
        None where chance alone gives so good a pair in more than 1 % of recordings, or where
        several numbers of balls fit about as well.
    """
    judged = [Judged(spectrum, spectrum.is_open) for spectrum in spectra if spectrum.judges]
    looked = sum(_places(one) for one in judged)
    if looked == 0:
        return None
    wanted = log(looked / (1.0 - _SURE))
    pairs = [pair for one in judged for pair in _best_pairs(one, wanted)]
    best = max(pairs, key=lambda pair: pair.joined, default=_Pair())
    rival = max((pair.joined for pair in pairs if pair.balls != best.balls), default=0.0)
    if best.joined == 0.0 or rival > _RIVAL * best.joined:
        return None
    # What the pair's own harmonics and side lines add up to speaks for nothing else.
    rest = [_without(one, best) for one in judged]
    scale = max(_scale(one) for one in rest)
    clear = min(best.lesser / scale - log(looked), _MOST_SURPRISE)
    others = max(_most_of_others(one, best.balls) for one in rest)
    chance = 1.0 / (1.0 + exp(-clear) + exp(others / scale - log(looked) - clear))
    if chance < _SURE:
        return None
    # Each line is known to half a bin; their difference is Z r.
    half = 1.959964 * sqrt(2.0) * 0.5 * best.order_step / best.balls
    return InferredBearing(
        best.balls, chance, Span(best.ratio, best.ratio - half, best.ratio + half)
    )


@dataclass(frozen=True, slots=True)
class _Pair:
    """A pair of ring lines: surprise of both together, twice that of the lesser, and its place."""

    joined: float = 0.0
    lesser: float = 0.0
    balls: int = 0
    ratio: float = 0.0
    order_step: float = 0.0


def _places(judged: Judged) -> int:
    """Pairs of places that are looked at in a spectrum."""
    span = LARGEST_RATIO - LEAST_RATIO
    step = judged.spectrum.order_step
    highest = judged.spectrum.highest_order
    numbers = range(FEWEST_BALLS, MOST_BALLS + 1)
    return sum(int(span * balls / step) for balls in numbers if 0.5 * balls < highest)


def _best_pairs(judged: Judged, wanted: float) -> Iterator[_Pair]:
    """Yield, for each number of balls, the pair whose combs say most.

    Only pairs whose lesser first line says enough are looked at.
    """
    for balls in range(FEWEST_BALLS, MOST_BALLS + 1):
        pairs = _pairs(judged, float(balls), 1)
        clear = pairs.lesser >= wanted
        if np.any(clear):
            ratio, lesser = pairs.ratio[clear], pairs.lesser[clear]
            joined = _joined(judged, float(balls), ratio)
            at = int(np.argmax(joined))
            step = judged.spectrum.order_step
            yield _Pair(float(joined[at]), float(lesser[at]), balls, float(ratio[at]), step)


def _most_of_others(judged: Judged, balls: int) -> float:
    """Give the largest surprise of pairs of any other number of balls."""
    others = [n for n in range(FEWEST_BALLS, MOST_BALLS + 1) if n != balls]
    return max(float(_pairs(judged, float(n), 1).lesser.max(initial=0.0)) for n in others)


def _without(judged: Judged, pair: _Pair) -> Judged:
    """Close the bins of all lines of both rings."""
    outer = 0.5 * pair.balls * (1.0 - pair.ratio)
    rings = ((outer, 0.0), (pair.balls - outer, 1.0))
    return judged.without(*(Family(place, side, _STRONG) for place, side in rings))


def _scale(judged: Judged) -> float:
    """How much larger the surprise is than in noise where no bearing can be; at least 1."""
    values = [
        _pairs(judged, balls + share, 4).lesser
        for balls in range(FEWEST_BALLS, MOST_BALLS)
        for share in _IMPOSSIBLE
    ]
    heard = np.concatenate(values)
    heard = heard[heard > 0.0]
    if heard.size < 100:
        return 1.0
    low, high = np.quantile(heard, (0.5, 0.99))
    return max(float(high - low) / log(50.0), 1.0)


@dataclass(frozen=True, slots=True, eq=False)
class _Pairs:
    """Ratios, and twice the surprise of the lesser first line of each pair."""

    ratio: Floats
    lesser: Floats


def _pairs(judged: Judged, total: float, thinned: int) -> _Pairs:
    """Judge pairs of places that add up to a total.

    Both first lines must be there: a comb alone would also be lifted by the harmonics of another,
    at 2/3 of its order for one. The chance that the lesser of two exponential variables is at least
    u is exp(-2 u).
    """
    step = thinned * judged.spectrum.order_step / total
    ratio = np.arange(LEAST_RATIO, LARGEST_RATIO, step)
    comb = Comb(0.5 * total)
    lesser = np.full(ratio.size, np.inf)
    for sign in (-1.0, 1.0):
        places = 0.5 * total * (1.0 + sign * ratio)
        # A shaft's own order, or one beyond what is heard, has the surprise 0.
        lesser = np.minimum(lesser, surprise(judged, comb, places, harmonics=1)[0])
    return _Pairs(ratio, 2.0 * lesser)


def _joined(judged: Judged, total: float, ratio: Floats) -> Floats:
    """Surprise of the combs of both rings together, the inner one with its side lines."""
    middle = 0.5 * total
    outer = surprise(judged, Comb(middle), middle * (1.0 - ratio))[0]
    inner = surprise(judged, Comb(middle, side=1.0), middle * (1.0 + ratio))[0]
    joined: Floats = outer + inner
    return joined
