"""How the numbers of a reading are written: rounding, units, the words of its limit.

References
----------
[PDG-ROUND]: an interval's half-width decides how many digits are shown. Its first three digits
between 100 and 354: two significant digits; between 355 and 949: one; above: rounded up to 1000,
two kept, which ends at the same place.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from math import floor, log10

from turnwell import units
from turnwell.measure import Limit, Reading
from turnwell.words import Message, text_of

__all__ = [
    "Figures",
    "decimals_for",
    "figures_of",
    "grams_less",
    "in_units",
    "limit_in_words",
    "written",
]

MOST_DECIMALS = 6
# What a balance of water says less than this of is not worth a figure.
LEAST_SAVED_G = 0.1
# Share of a value that rounding may move it by.
LOST = 0.1
CONVERSIONS: Mapping[tuple[str, str], Callable[[float], float]] = {
    ("kPa", "psi"): units.kpa_to_psi,
    ("kPa", "bar"): units.kpa_to_bar,
    ("mm", "in"): units.mm_to_inch,
    ("°C", "°F"): units.celsius_to_fahrenheit,
}


@dataclass(frozen=True, slots=True)
class Figures:
    """The numbers of a reading as they are shown; None where there is none.

    Parameters
    ----------
    value, low, high : str or None
        Estimate and ends of the interval.
    unit : str
        Unit symbol.
    limit_low, limit_high : str or None
        The limit's sides.
    limit : str or None
        The limit in words: ``"at least 360,000"``.
    """

    value: str | None
    low: str | None
    high: str | None
    unit: str
    limit_low: str | None
    limit_high: str | None
    limit: str | None


def figures_of(reading: Reading, language: str = "en") -> Figures:
    """Give the numbers of a reading as they are shown.

    Digits follow the interval; one more is shown where rounding would move an end of the interval
    onto or across a limit, so that figures and verdict never contradict each other.

    Examples
    --------
    >>> from turnwell.measure import Basis, Limit, reading
    >>> label = Limit(low=360_000.0, high=None, source="label", basis=Basis.OWN)
    >>> speed = reading("free_running_speed", 401_234.0, 400_873.0, 401_595.0, "rpm", limit=label)
    >>> shown = figures_of(speed)
    >>> shown.value, shown.low, shown.limit
    ('401,200', '400,900', 'at least 360,000')
    """
    decimals = _decimals_of(reading)
    value, low, high = (
        None if number is None else written(number, decimals)
        for number in (reading.value, reading.low, reading.high)
    )
    sides = (None, None) if reading.limit is None else (reading.limit.low, reading.limit.high)
    at_least, at_most = (None if side is None else _written_limit(side, decimals) for side in sides)
    limit = limit_in_words(at_least, at_most, language)
    return Figures(value, low, high, reading.unit, at_least, at_most, limit)


def in_units(reading: Reading, wanted: Mapping[str, str]) -> Reading:
    """Give the reading in the units a shop wants to see.

    Parameters
    ----------
    reading : Reading
        In the unit it was made in.
    wanted : mapping of str to str
        Unit to show in place of a unit: ``{"kPa": "psi"}``; what is not named stays.

    Examples
    --------
    >>> from turnwell.measure import reading
    >>> drive = reading("drive_air_pressure", 220.0, 216.0, 224.0, "kPa")
    >>> round(in_units(drive, {"kPa": "psi"}).value, 1)
    31.9
    """
    unit = wanted.get(reading.unit, reading.unit)
    convert = CONVERSIONS.get((reading.unit, unit))
    if convert is None:
        return reading

    def shown(number: float | None) -> float | None:
        return None if number is None else convert(number)

    limit = reading.limit
    if limit is not None:
        limit = Limit(shown(limit.low), shown(limit.high), limit.source, limit.basis)
    return replace(
        reading,
        unit=unit,
        value=shown(reading.value),
        low=shown(reading.low),
        high=shown(reading.high),
        limit=limit,
    )


def grams_less(
    saved_g: float, low_g: float, high_g: float, *, left: Reading, language: str = "en"
) -> str:
    """Say how much less water a change would leave: tenths of a gram, never more than is left.

    Parameters
    ----------
    saved_g, low_g, high_g : float
        Estimate and ends of its interval.
    left : Reading
        The water left; no number here is above the one that is shown of it.
    language : str

    Examples
    --------
    >>> from turnwell.measure import reading
    >>> left = reading("water_left_g", 3.3, 0.0, 9.0, "g")
    >>> figures_of(left).value, grams_less(3.28, 0.013, 6.02, left=left)
    ('3', '3 g less (0 to 6.0)')
    >>> grams_less(1.26, 0.013, 2.5, left=left)
    '1.3 g less (0 to 2.5)'
    >>> grams_less(0.03, 0.0, 0.2, left=left)
    'less than 0.1 g less'
    """
    if saved_g < LEAST_SAVED_G:
        return text_of("pictures.saved.little", language)
    shown = figures_of(left)
    numbers = {
        "saved": _grams(saved_g, shown.value),
        "low": _grams(low_g, shown.value),
        "high": _grams(high_g, shown.high),
    }
    return text_of(Message("pictures.saved.some", {**numbers}), language)


def _grams(grams: float, most: str | None) -> str:
    """Write grams with one decimal; with the digits of what is left where that is less."""
    if most is not None and round(grams, 1) > float(most.replace(",", "").replace("−", "-")):
        return most
    return "0" if grams < LEAST_SAVED_G / 2.0 else written(grams, 1)


def written(number: float, decimals: int) -> str:
    """Write a number with thousands set off; negative decimals round to tens, hundreds and so on.

    >>> written(331_234.0, -3), written(0.0312, 3), written(-0.0001, 2)
    ('331,000', '0.031', '0.00')
    """
    rounded = round(number, decimals) + 0.0
    text = f"{rounded:,.{max(decimals, 0)}f}"
    return text.replace("-", "−")


def decimals_for(half_width: float) -> int:
    """Give the decimals that an interval of this half-width deserves.

    >>> decimals_for(4000.0), decimals_for(361.0), decimals_for(0.0049), decimals_for(3.0)
    (-3, -2, 3, 1)
    """
    if half_width < 10.0**-MOST_DECIMALS:
        return MOST_DECIMALS
    power = floor(log10(half_width))
    first_three = half_width / 10.0 ** (power - 2)
    return 1 - power if first_three < 354.5 else -power


def _decimals_of(reading: Reading) -> int:
    """Give the decimals of a reading's value and interval."""
    if reading.value is None or reading.low is None or reading.high is None:
        return 0
    half_width = reading.half_width or 0.0
    decimals = decimals_for(half_width) if half_width > 0.0 else _own_decimals(reading.value)
    decimals = min(decimals, MOST_DECIMALS)
    # However wide the interval, the value itself is not rounded to another one.
    while decimals < MOST_DECIMALS and _is_lost(reading.value, decimals):
        decimals += 1
    sides = [] if reading.limit is None else [reading.limit.low, reading.limit.high]
    while decimals < MOST_DECIMALS and any(
        _moves(end, side, decimals)
        for side in sides
        if side is not None
        for end in (reading.low, reading.high)
    ):
        decimals += 1
    return decimals


def _is_lost(value: float, decimals: int) -> bool:
    """Tell whether rounding takes more than a tenth off a value, or adds it."""
    return abs(round(value, decimals) - value) > LOST * abs(value)


def _moves(end: float, side: float, decimals: int) -> bool:
    """Tell whether rounding takes an end of the interval onto or across a limit."""
    rounded = round(end, decimals)
    return (end < side) != (rounded < side) or (end > side) != (rounded > side)


def _own_decimals(number: float) -> int:
    """Give the decimals a number needs for itself, five significant digits at most."""
    text = f"{number:.5g}"
    if "e" in text:
        return 0 if abs(number) >= 1.0 else MOST_DECIMALS
    return min(len(text.partition(".")[2]), MOST_DECIMALS)


def _written_limit(side: float, decimals: int) -> str:
    """Write a side of a limit with the digits it has, or those of the value beside it."""
    return "0" if side == 0.0 else written(side, max(_own_decimals(side), min(decimals, 3)))


def limit_in_words(at_least: str | None, at_most: str | None, language: str = "en") -> str | None:
    """Say a limit by its sides as they are written; None where it has none."""
    if at_least is not None and at_most is not None:
        return text_of(Message("pictures.between", {"low": at_least, "high": at_most}), language)
    if at_least is not None:
        return text_of(Message("pictures.at_least", {"limit": at_least}), language)
    if at_most is not None:
        return text_of(Message("pictures.at_most", {"limit": at_most}), language)
    return None
