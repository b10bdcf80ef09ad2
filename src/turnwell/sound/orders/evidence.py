"""Which part of a bearing the order spectra speak for, and with what chance of a false alarm.

Each part's comb is moved over the orders that its geometry allows, in every spectrum that can show
it. The chance that noise alone gives so much somewhere is the chance at one place times the places,
spectra and parts looked at. Where the recording itself has more lines at places that belong to no
part than noise would give, the surprise is scaled down until these look like noise.

A part whose lines stand out is then set aside with its harmonics and side lines, and the others are
judged again without them: one damage must not speak for two parts.
"""

from dataclasses import dataclass, replace
from math import exp, expm1, inf, log, log1p, log10

import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtri

from turnwell.sound.orders.bearing import Bearing, Part, Span
from turnwell.sound.orders.comb import (
    HARMONICS,
    Comb,
    Family,
    Judged,
    limit_power,
    line_width,
    surprise,
)
from turnwell.sound.orders.spectrum import Kind, OrderSpectrum
from turnwell.sound.segment import SegmentKind

__all__ = ["FALSE_ALARM", "Line", "PartEvidence", "can_show", "judge"]

Floats = NDArray[np.float64]

FALSE_ALARM = 0.01
_STEP_BINS = 0.5
# A speed that is off moves all orders: the search is widened by two standard deviations.
_ERRORS = 2.0
_SEEN_SHARE = 0.5
# Below it a chance is only named: no model of noise holds so far.
_LEAST = 1e-12
# Places that belong to no part are taken from this range about a part's order, a few hundred.
_NEAR, _FAR = 0.5, 2.0
_ELSEWHERE = 400
_LEAST_ELSEWHERE = 60
# Quantiles of the surprise elsewhere that set its scale; in noise ln 20 - ln 2 apart.
_LOW, _HIGH = 0.5, 0.95


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a part, where it was looked for in the spectrum that speaks most for the part.

    Parameters
    ----------
    harmonic : int
    span : Span
        Orders at which it may lie.
    order, level_db, low_db, high_db : float or None
        Where it lies, and its level over the noise floor with its 95 % interval; None where the
        recording cannot show it.
    false_alarm : float or None
        Chance that noise alone gives a line so strong at any place that was looked at.
    """

    harmonic: int
    span: Span
    order: float | None = None
    level_db: float | None = None
    low_db: float | None = None
    high_db: float | None = None
    false_alarm: float | None = None


@dataclass(frozen=True, slots=True)
class PartEvidence:
    """What the spectra say about one part.

    Parameters
    ----------
    part : Part
    span : Span
        Orders at which its first line may lie.
    side : float
        Distance of its side lines; 0 where it has none.
    lines : tuple of Line
    false_alarm : float or None
        Chance that noise alone speaks so much for any part anywhere; None where no spectrum can
        show this one.
    surprise : float
        -ln of the chance at one place, scaled; 0 where it cannot be shown.
    place : float or None
        Order of its first line where the spectra speak most for it.
    spectrum : OrderSpectrum or None
        The spectrum in which they do.
    limit_db : float or None
        Level of a single line at which the false alarm is 1 %.
    clear_lines : int
        Lines, side lines too, each of which stands out by itself.
    """

    part: Part
    span: Span
    side: float
    lines: tuple[Line, ...]
    false_alarm: float | None = None
    surprise: float = 0.0
    place: float | None = None
    spectrum: OrderSpectrum | None = None
    limit_db: float | None = None
    clear_lines: int = 0

    @property
    def is_reached(self) -> bool:
        """Tell whether the recording can show this part at all."""
        return self.false_alarm is not None

    @property
    def stands_out(self) -> bool:
        """Tell whether noise alone gives so much in at most 1 % of recordings."""
        return self.false_alarm is not None and self.false_alarm <= FALSE_ALARM

    @property
    def strongest(self) -> Line | None:
        """The line with the highest level."""
        heard = [line for line in self.lines if line.level_db is not None]
        return max(heard, key=lambda line: line.level_db or -inf, default=None)


@dataclass(frozen=True, slots=True, eq=False)
class _Look:
    """One part in one spectrum."""

    judged: Judged
    comb: Comb
    places: Floats
    surprise: Floats


def judge(spectra: tuple[OrderSpectrum, ...], bearing: Bearing) -> tuple[PartEvidence, ...]:
    """Judge every part of a bearing by all spectra together.

    Parameters
    ----------
    spectra : tuple of OrderSpectrum
    bearing : Bearing

    Returns
    -------
    tuple of PartEvidence
        One for each part, in the order of `Part`.
    """
    whole = [Judged(spectrum, spectrum.is_open) for spectrum in spectra]
    first = _all_parts(whole, whole, bearing)
    best = max(first, key=lambda found: found.surprise)
    if not best.stands_out:
        return first
    rest = [judged.without(_family(best)) for judged in whole]
    second = _all_parts(rest, whole, bearing)
    return tuple(best if one.part is best.part else one for one in second)


def _family(found: PartEvidence) -> Family:
    """All lines of a part where it was found."""
    level_db = 0.0 if found.strongest is None else found.strongest.level_db or 0.0
    return Family(found.place or found.span.value, found.side, max(10.0 ** (level_db / 10.0), 1.0))


def _all_parts(
    judged: list[Judged], untouched: list[Judged], bearing: Bearing
) -> tuple[PartEvidence, ...]:
    """Judge every part by itself; reach is decided by the spectra before anything was set aside."""
    spans = bearing.spans()
    looks: dict[Part, list[_Look]] = {}
    for part, span in spans.items():
        comb = Comb(span.value, _side(part, bearing))
        shown = [number for number, one in enumerate(untouched) if _is_shown(one, part, span)]
        looks[part] = [_look(judged[number], comb, span) for number in _follows(shown, untouched)]
    places = sum(look.places.size for found in looks.values() for look in found)
    families = _families(looks)
    aside = {id(now): now.without(*families) for now in judged}
    return tuple(_evidence(part, spans, looks[part], aside, places) for part in Part)


def _follows(shown: list[int], judged: list[Judged]) -> list[int]:
    """Keep the spectra of coast-downs where there are any.

    While the speed is constant a tone from elsewhere, a whine of a power supply, stands at an order
    like a line of the bearing; over a coast-down only what turns with the shaft keeps its order.
    """
    falling = [n for n in shown if judged[n].spectrum.stretch is SegmentKind.COAST_DOWN]
    return falling or shown


def _side(part: Part, bearing: Bearing) -> float:
    """Distance of a part's side lines: how often it passes the loaded zone in a turn."""
    if part is Part.INNER_RING:
        return 1.0
    return bearing.order(Part.CAGE) if part is Part.BALL else 0.0


def can_show(spectrum: OrderSpectrum, part: Part) -> bool:
    """Tell whether a spectrum is of a kind that can show a part."""
    # A cage modulates what others sound; it has no line of its own to be told from.
    return spectrum.judges and (part is not Part.CAGE or spectrum.kind is Kind.ENVELOPE)


def _is_shown(judged: Judged, part: Part, span: Span) -> bool:
    """Tell whether a spectrum can show the first line of a part."""
    if not can_show(judged.spectrum, part):
        return False
    step = judged.spectrum.order_step
    bins = np.arange(round(span.low / step), round(span.high / step) + 1)
    bins = bins[bins < judged.is_open.size]
    return bool(bins.size and np.mean(judged.is_open[bins]) >= _SEEN_SHARE)


def _look(judged: Judged, comb: Comb, span: Span) -> _Look:
    step = _STEP_BINS * judged.spectrum.order_step
    wider = _ERRORS * judged.spectrum.speed_error
    low, high = span.low * (1.0 - wider), span.high * (1.0 + wider)
    places = np.linspace(low, high, max(int(np.ceil((high - low) / step)), 1) + 1)
    return _Look(judged, comb, places, surprise(judged, comb, places)[0])


def _families(looks: dict[Part, list[_Look]]) -> list[Family]:
    """Best place of every part, whose lines say nothing about the noise elsewhere."""
    families = []
    for found in looks.values():
        if found:
            best = max(found, key=lambda look: float(look.surprise.max()))
            place = float(best.places[np.argmax(best.surprise)])
            at = _strongest_bin(best, place, 1)
            power = 1.0 if at is None else max(float(best.judged.spectrum.power[at]), 1.0)
            families.append(Family(place, best.comb.side, power))
    return families


def _evidence(
    part: Part,
    spans: dict[Part, Span],
    looks: list[_Look],
    aside: dict[int, Judged],
    places: int,
) -> PartEvidence:
    """Take the spectrum that speaks most for a part."""
    span = spans[part]
    side = looks[0].comb.side if looks else 0.0
    lines = tuple(_line(harmonic, span) for harmonic in range(1, HARMONICS + 1))
    if not looks:
        return PartEvidence(part, span, side, lines)
    most = _most(looks, aside, spans)
    look, scale, scaled = most.look, most.scale, most.surprise
    place = float(look.places[np.argmax(look.surprise)])
    wanted = -log(-expm1(log1p(-FALSE_ALARM) / places)) * scale
    limit = limit_power(look.judged, look.comb, place, wanted)
    return PartEvidence(
        part=part,
        span=span,
        side=side,
        lines=_lines(look, place, span, scale, places),
        false_alarm=_false_alarm(scaled, places),
        surprise=scaled,
        place=place,
        spectrum=look.judged.spectrum,
        limit_db=10.0 * log10(limit) if limit < inf else None,
        clear_lines=_clear_lines(look, place, scale, places),
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Scaled:
    """A look, its scale, and its largest surprise over that."""

    look: _Look
    scale: float
    surprise: float


def _most(looks: list[_Look], aside: dict[int, Judged], spans: dict[Part, Span]) -> _Scaled:
    """Give the look with the largest scaled surprise."""
    first, *others = sorted(looks, key=lambda one: -float(one.surprise.max()))
    best = _scaled(first, aside, spans)
    for look in others:
        # A scale is at least 1, so that what is smaller already cannot win.
        if float(look.surprise.max()) <= best.surprise:
            break
        best = max(best, _scaled(look, aside, spans), key=lambda one: one.surprise)
    return best


def _scaled(look: _Look, aside: dict[int, Judged], spans: dict[Part, Span]) -> _Scaled:
    scale = _scale(look, aside[id(look.judged)], spans)
    return _Scaled(look, scale, float(look.surprise.max()) / scale)


def _scale(look: _Look, judged: Judged, spans: dict[Part, Span]) -> float:
    """How much larger the surprise is than in noise where no part is; at least 1."""
    order = look.comb.order
    elsewhere = np.linspace(_NEAR * order, _FAR * order, _ELSEWHERE)
    for span in spans.values():
        elsewhere = elsewhere[(elsewhere < span.low) | (elsewhere > span.high)]
    value, kind = surprise(judged, look.comb, elsewhere)
    value = value[kind > 0]
    if value.size < _LEAST_ELSEWHERE:
        return 1.0
    low, high = np.quantile(value, (_LOW, _HIGH))
    return max(float(high - low) / log((1.0 - _LOW) / (1.0 - _HIGH)), 1.0)


def _false_alarm(scaled: float, places: int) -> float:
    """Chance that the largest of so many exponential variables is at least so large."""
    return min(max(-expm1(places * log1p(-min(exp(-scaled), 1.0 - 1e-12))), _LEAST), 1.0)


def _line(harmonic: int, span: Span) -> Line:
    stretched = Span(harmonic * span.value, harmonic * span.low, harmonic * span.high)
    return Line(harmonic, stretched)


def _lines(look: _Look, place: float, span: Span, scale: float, places: int) -> tuple[Line, ...]:
    """Level of each harmonic at the place that was found."""
    lines = []
    for harmonic in range(1, HARMONICS + 1):
        line = _line(harmonic, span)
        at = _strongest_bin(look, harmonic * place, harmonic)
        lines.append(line if at is None else _heard(look, line, at, scale, places))
    return tuple(lines)


def _clear_lines(look: _Look, place: float, scale: float, places: int) -> int:
    """Count the lines and side lines that stand out by themselves."""
    sides = (-look.comb.side, 0.0, look.comb.side) if look.comb.side else (0.0,)
    surprise_at = look.judged.smoothed(0).surprise
    count = 0
    for harmonic in range(1, HARMONICS + 1):
        for side in sides:
            at = _strongest_bin(look, harmonic * place + side, harmonic)
            if at is not None:
                count += _false_alarm(float(surprise_at[at]) / scale, places) <= FALSE_ALARM
    return count


def _heard(look: _Look, line: Line, at: int, scale: float, places: int) -> Line:
    """Give a line with what its bin says."""
    smoothed = look.judged.smoothed(0)
    power, shape = max(float(smoothed.power[at]), 1e-3), float(smoothed.freedom[at])
    # Power over its mean is gamma; twice its shape times that is chi-squared.
    low, high = (2.0 * shape / chdtri(2.0 * shape, tail) for tail in (0.025, 0.975))
    return replace(
        line,
        order=at * look.judged.spectrum.order_step,
        level_db=10.0 * log10(power),
        low_db=10.0 * log10(power * low),
        high_db=10.0 * log10(power * high),
        false_alarm=_false_alarm(float(smoothed.surprise[at]) / scale, places),
    )


def _strongest_bin(look: _Look, order: float, harmonic: int) -> int | None:
    """Give the strongest bin within the width of a line; None where none is heard."""
    step = look.judged.spectrum.order_step
    reach = max(round(0.5 * line_width(look.comb.order, harmonic) / step), 1)
    smoothed = look.judged.smoothed(0)
    middle = round(order / step)
    bins = np.arange(max(middle - reach, 0), min(middle + reach + 1, smoothed.power.size))
    bins = bins[smoothed.freedom[bins] > 0.0]
    return int(bins[np.argmax(smoothed.power[bins])]) if bins.size else None
