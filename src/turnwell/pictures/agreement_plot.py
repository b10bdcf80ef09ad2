"""The agreement plot: how far the speed heard lies from a tachometer's, over the speed.

A dot a pair, the bias a firm line, the limits of agreement broken ones; the planes behind them are
their intervals. A pair that does not fit in with the others is an open diamond. Zero, where both
say the same, is a fine line.

References
----------
Differences over means: [BLAND1986].
"""

from collections.abc import Iterable
from dataclasses import dataclass
from math import floor, log10

from turnwell.errors import InputError
from turnwell.pictures.drawing import Ground, page
from turnwell.pictures.figures import written
from turnwell.pictures.scale import Scale
from turnwell.words import Message, text_of

__all__ = ["AgreementDot", "AgreementShown", "agreement_plot", "agreement_plot_in_words", "signed"]

TOP = 24.0
PLOT = 200.0
APART = 19.0  # of two labels' base lines
ROOM = 0.12  # beyond the outermost thing, in parts of the reach
INSET = 0.06  # of the dots from the picture's sides
GAP = 0.04  # between plot and figures, in parts of the width
DX = 7.0  # the same, in pixels
DIAMOND = "M0-7.5 7.5 0 0 7.5-7.5 0Z"
Interval = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class AgreementDot:
    """One pair: mean speed in rpm, heard less tachometer in per cent, whether it fits in."""

    speed_rpm: float
    difference_percent: float
    is_outlier: bool = False


@dataclass(frozen=True, slots=True)
class AgreementShown:
    """What the plot shows.

    Parameters
    ----------
    dots : tuple of AgreementDot
        At least two.
    bias, lower, upper : (float, float, float)
        Bias and limits of agreement in per cent: low end, value, high end.
    """

    dots: tuple[AgreementDot, ...]
    bias: Interval
    lower: Interval
    upper: Interval

    def __post_init__(self) -> None:
        if len(self.dots) < 2:
            raise InputError(f"an agreement of {len(self.dots)} pairs cannot be drawn; give two")


def agreement_plot(
    shown: AgreementShown, *, ground: Ground | None = None, language: str = "en"
) -> str:
    """Draw pairs of readings with their bias and limits of agreement.

    Parameters
    ----------
    shown : AgreementShown
    ground : Ground or None
        `drawing.page` (the default) or `drawing.paper`.
    language : str
        Of its words.

    Returns
    -------
    str
        SVG text with its text equivalent.
    """
    ground = ground or page(300.0)
    up, across = _up(shown), _across(shown)
    right = 1.0 - _gutter(ground, shown)
    parts = [
        _plane(ground, "plane", up, shown.lower, right),
        _plane(ground, "plane", up, shown.upper, right),
        _plane(ground, "wash", up, shown.bias, right),
        _level(ground, "axis", up, 0.0, right),
        _level(ground, "soft-line dash", up, shown.lower[1], right),
        _level(ground, "soft-line dash", up, shown.upper[1], right),
        _level(ground, "ink-firm", up, shown.bias[1], right),
    ]
    parts += [_dot(ground, across, up, dot, right) for dot in shown.dots]
    parts += _labels(ground, up, shown, right, language)
    parts += _speeds(ground, across, shown, right, language)
    says = agreement_plot_in_words(shown, language=language)
    return ground.picture("agreement", TOP + PLOT + 46.0, parts, says=says)


def agreement_plot_in_words(shown: AgreementShown, *, language: str = "en") -> str:
    """Say in words what the plot shows."""
    digits = _digits(shown)
    said = [
        Message(
            "pictures.agreement.says",
            {
                "count": len(shown.dots),
                "bias": signed(shown.bias[1], digits),
                "bias_low": signed(shown.bias[0], digits),
                "bias_high": signed(shown.bias[2], digits),
                "lower": signed(shown.lower[1], digits),
                "upper": signed(shown.upper[1], digits),
            },
        )
    ]
    if outliers := sum(dot.is_outlier for dot in shown.dots):
        said.append(Message("pictures.agreement.outliers", {"outliers": outliers}))
    return " ".join(text_of(message, language) for message in said)


def signed(value: float, digits: int) -> str:
    """Write a number with its sign; a true minus, no sign at zero.

    >>> signed(-0.012, 3), signed(0.5, 1), signed(0.0001, 2)
    ('−0.012', '+0.5', '0.00')
    """
    text = f"{abs(value):,.{digits}f}"
    if not float(text.replace(",", "")):
        return text
    return ("−" if value < 0 else "+") + text


def _digits(shown: AgreementShown) -> int:
    """Decimals that give the distance of the limits three figures."""
    width = shown.upper[1] - shown.lower[1]
    return 3 if width <= 0.0 else max(0, min(5, 2 - floor(log10(width))))


def _up(shown: AgreementShown) -> Scale:
    """Give the scale of the differences: all dots, all intervals and zero lie on it."""
    numbers = [0.0, *(dot.difference_percent for dot in shown.dots)]
    for interval in (shown.bias, shown.lower, shown.upper):
        numbers += interval
    low, high = min(numbers), max(numbers)
    room = ROOM * (high - low) or 0.01
    return Scale(low - room, high + room)


def _across(shown: AgreementShown) -> Scale:
    speeds = [dot.speed_rpm for dot in shown.dots]
    low, high = min(speeds), max(speeds)
    # Speeds all alike stand in the middle, not at the sides.
    room = INSET / (1.0 - 2.0 * INSET) * (high - low) if high > low else 0.01 * high
    return Scale(low - room, high + room)


def _y(up: Scale, value: float) -> float:
    return TOP + PLOT * (1.0 - up.part(value))


def _gutter(ground: Ground, shown: AgreementShown) -> float:
    """Give the part of the width that the figures of the lines take, right of the plot."""
    digits = _digits(shown)
    values = (shown.lower[1], shown.bias[1], shown.upper[1])
    return max(ground.label_part(f"{signed(value, digits)} %") for value in values) + GAP


def _plane(ground: Ground, classes: str, up: Scale, interval: Interval, right: float) -> str:
    return ground.box(classes, 0, _y(up, interval[2]), right, _y(up, interval[0]))


def _level(ground: Ground, classes: str, up: Scale, value: float, right: float) -> str:
    return ground.line(classes, 0, _y(up, value), right, _y(up, value))


def _dot(ground: Ground, across: Scale, up: Scale, dot: AgreementDot, right: float) -> str:
    shape = (
        f'<path{ground.look("v-unproven")} d="{DIAMOND}"/>'
        if dot.is_outlier
        else f'<circle{ground.look("v-before")} r="5"/>'
    )
    x = right * across.part(dot.speed_rpm)
    return ground.at(x, _y(up, dot.difference_percent), shape)


def _labels(
    ground: Ground, up: Scale, shown: AgreementShown, right: float, language: str
) -> list[str]:
    """Name the three lines right of the plot, pushed apart where they would touch.

    A narrow page has room for the figures alone.
    """
    rows = [
        ("upper", "t-ink", shown.upper[1]),
        ("bias", "t-strong", shown.bias[1]),
        ("lower", "t-ink", shown.lower[1]),
    ]
    digits = _digits(shown)
    bases = _pushed([_y(up, value) + 5.0 for _, _, value in rows])
    labels: list[str] = []
    for (key, classes, value), base in zip(rows, bases, strict=True):
        figure = f"{signed(value, digits)}\N{NO-BREAK SPACE}%"
        named = text_of(Message(f"pictures.agreement.{key}", {"value": figure}), language)
        labels.append(ground.words(f"{classes} wide", right, base, named, dx=DX))
        labels.append(ground.words(f"{classes} narrow", right, base, figure, dx=DX))
    return labels


def _pushed(bases: Iterable[float]) -> list[float]:
    """Push base lines, given from the top down, apart; the middle one stays."""
    upper, middle, lower = bases
    return [min(upper, middle - APART), middle, max(lower, middle + APART)]


def _speeds(
    ground: Ground, across: Scale, shown: AgreementShown, right: float, language: str
) -> list[str]:
    """Mark the slowest and the fastest pair below, and name the axis."""
    speeds = sorted(dot.speed_rpm for dot in shown.dots)
    y = TOP + PLOT
    parts = [ground.line("axis", 0, y, right, y)]
    ends = (
        [(speeds[0], ""), (speeds[-1], " end")] if speeds[-1] > speeds[0] else [(speeds[0], " mid")]
    )
    for speed, anchor in ends:
        x = right * across.part(speed)
        parts.append(ground.line("axis", x, y, x, y + 6))
        parts.append(ground.words(f"t-ink{anchor}", x, y + 21, written(speed, 0)))
    parts.append(
        ground.words("mid", right / 2.0, y + 41, text_of("pictures.agreement.across", language))
    )
    parts.append(ground.words("", 0.0, 13, text_of("pictures.agreement.up", language)))
    return parts
