"""Why handpieces come back, as cumulative incidence: bars with whiskers, a row a cause.

Of a hundred handpieces handed back, how many have come back by an age, and of which cause. Shares
of all rows and of those still running add up to the whole. Before and after a training stand over
each other: grey before, brass after.
"""

from dataclasses import dataclass
from enum import StrEnum

from turnwell.errors import InputError
from turnwell.pictures.bars import whisker_bar
from turnwell.pictures.drawing import Ground, page
from turnwell.pictures.estimated import Estimated
from turnwell.words import Message, Param, text_of

__all__ = [
    "IncidenceRow",
    "IncidenceShown",
    "RowKind",
    "ShareWords",
    "incidence_bar",
    "incidence_caption",
    "incidence_in_words",
    "row_name",
    "share_words",
]

# The least share at the right edge, so that a row of nothing is drawn as nothing.
LEAST_TOP = 0.01
# Below so many per cent a decimal is written, unless the interval reaches so far.
FEW_PERCENT = 2.0
WIDE_PERCENT = 10.0
ONE_LANE = 22.0
TWO_LANES = 34.0
LOOKS = {
    "cause": "fill-brass",
    "not settled": "fill-soft",
    "still running": "ball--stay",
}


class RowKind(StrEnum):
    """What a row counts."""

    CAUSE = "cause"
    NOT_SETTLED = "not settled"
    STILL_RUNNING = "still running"


@dataclass(frozen=True, slots=True)
class IncidenceRow:
    """One cause, those without a settled cause, or those still running.

    Parameters
    ----------
    name : str
        The cause; may be empty for the other kinds, which have their own words.
    share : Estimated
        Of the handpieces, by the age, 0 to 1.
    returns : int
        Behind it; handpieces for those still running.
    before : Estimated or None
        The same before the training.
    returns_before : int
    kind : RowKind
    """

    name: str
    share: Estimated
    returns: int
    before: Estimated | None = None
    returns_before: int = 0
    kind: RowKind = RowKind.CAUSE

    def __post_init__(self) -> None:
        for shown in (self.share, self.before):
            if shown is not None and not 0.0 <= shown.low <= shown.high <= 1.0:
                raise InputError(
                    f"{self.name or self.kind}: {shown.low} to {shown.high} is no share of 1"
                )
        if self.returns < 0 or self.returns_before < 0:
            raise InputError(f"{self.name or self.kind}: a count of returns is below 0")
        if self.kind is RowKind.CAUSE and not self.name:
            raise InputError("a cause needs its name")


@dataclass(frozen=True, slots=True)
class IncidenceShown:
    """Causes in order, then those not settled, then those still running.

    Parameters
    ----------
    by : str
        The age, with its clock: ``"one year after hand-back"``, ``"800 cycles after hand-back"``.
    rows : tuple of IncidenceRow
        One at least.
    lives : int
        Stretches from a hand-back on that stand behind it.
    lives_before : int
        The same before the training; 0 where before and after are not told apart.
    """

    by: str
    rows: tuple[IncidenceRow, ...]
    lives: int
    lives_before: int = 0

    def __post_init__(self) -> None:
        if not self.rows:
            raise InputError("causes need one row at least")

    @property
    def top(self) -> float:
        """Share at the right edge of the bars: one scale for all rows, before and after."""
        shares = [row.share for row in self.rows]
        shares += [row.before for row in self.rows if row.before is not None]
        return max(LEAST_TOP, *(share.high for share in shares))

    def first(self, most: int) -> tuple[IncidenceRow, ...]:
        """Give at most so many causes, in the order given, and every row of the other kinds."""
        causes = [row for row in self.rows if row.kind is RowKind.CAUSE][:most]
        return tuple(row for row in self.rows if row.kind is not RowKind.CAUSE or row in causes)

    def rarer(self, most: int) -> tuple[IncidenceRow, ...]:
        """Give the causes beyond so many."""
        return tuple(row for row in self.rows if row.kind is RowKind.CAUSE)[most:]

    @property
    def has_before(self) -> bool:
        """True where before and after the training are told apart."""
        return any(row.before is not None for row in self.rows)


@dataclass(frozen=True, slots=True)
class ShareWords:
    """A share as it is written: ``"31 %"``, ``"22 to 41 %"``, ``"23 returns"``."""

    value: str
    between: str
    counted: str


def incidence_bar(
    row: IncidenceRow, *, top: float, ground: Ground | None = None, language: str = "en"
) -> str:
    """Draw a row's share as a bar with its interval; before the training over it, in grey.

    Parameters
    ----------
    row : IncidenceRow
    top : float
        `IncidenceShown.top` of the rows it stands among.
    ground : Ground or None
        `drawing.page` (the default), where the words stand beside it, or `drawing.paper`.
    language : str
        Of its words.

    Returns
    -------
    str
        SVG text.
    """
    ground = ground or page()
    if row.before is None:
        tall = ONE_LANE
        parts = whisker_bar(ground, LOOKS[row.kind], row.share, top=top, y=11.0, tall=12.0)
    else:
        tall = TWO_LANES
        parts = whisker_bar(ground, "fill-soft", row.before, top=top, y=9.0, tall=9.0)
        parts += whisker_bar(ground, "fill-brass", row.share, top=top, y=24.0, tall=9.0)
    parts.append(ground.line("axis", 0.0, 0.0, 0.0, tall))
    says = None if ground.is_page else incidence_in_words(row, language=language)
    return ground.picture("limitbar", tall, parts, says=says)


def row_name(row: IncidenceRow, language: str = "en") -> str:
    """Give the cause's name, or the words of the other kinds."""
    return row.name or text_of(f"pictures.incidence.{row.kind.replace(' ', '_')}", language)


def share_words(
    share: Estimated, count: int, *, kind: RowKind = RowKind.CAUSE, language: str = "en"
) -> ShareWords:
    """Write a share in per cent, its interval and the count behind it."""
    percent = share.times(100.0)
    decimals = 1 if 0.0 < percent.value < FEW_PERCENT and percent.high < WIDE_PERCENT else 0
    low, high = percent.ends(decimals)
    counted = "handpieces" if kind is RowKind.STILL_RUNNING else "returns"
    if count == 1:
        counted = counted.removesuffix("s")
    return ShareWords(
        text_of(Message("pictures.incidence.percent", {"share": percent.says(decimals)}), language),
        text_of(Message("pictures.incidence.between", {"low": low, "high": high}), language),
        text_of(Message(f"pictures.incidence.count.{counted}", {"count": f"{count:,}"}), language),
    )


def incidence_caption(shown: IncidenceShown, *, language: str = "en") -> str:
    """Say what the bars show, of how many."""
    params: dict[str, Param] = {
        "by": shown.by,
        "lives": f"{shown.lives:,}",
        "before": f"{shown.lives_before:,}",
    }
    keys = ["caption", "caption_two" if shown.has_before else "caption_one"]
    kinds = {row.kind for row in shown.rows}
    keys += ["caption_unsettled"] if RowKind.NOT_SETTLED in kinds else []
    said = (Message(f"pictures.incidence.{key}", params) for key in keys)
    return " ".join(text_of(message, language) for message in said)


def incidence_in_words(row: IncidenceRow, *, language: str = "en") -> str:
    """Say in words what a row's bar shows."""
    share = share_words(row.share, row.returns, language=language)
    params: dict[str, Param] = {
        "name": row_name(row, language),
        "value": share.value,
        "between": share.between,
    }
    if row.before is None:
        return text_of(Message("pictures.incidence.row", params), language)
    before = share_words(row.before, row.returns_before, language=language)
    params |= {"value_before": before.value, "between_before": before.between}
    return text_of(Message("pictures.incidence.row_two", params), language)
