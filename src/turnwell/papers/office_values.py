"""What goes onto an office review, as typed values."""

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from turnwell.errors import InputError
from turnwell.measure import Reading
from turnwell.papers.values import ShopHead
from turnwell.pictures import ActionShown, IncidenceShown, ReturnCurve

__all__ = [
    "HandpieceBack",
    "MoneyShown",
    "OfficeReviewPaper",
    "TrainingChecked",
    "Untold",
]


@dataclass(frozen=True, slots=True)
class TrainingChecked:
    """Returns before and after a training or a visit.

    Parameters
    ----------
    on : date
    says : str
        What can be told of it, in a sentence.
    before, after : Reading
        Returns per handpiece and year, as counted.
    plain : Reading
        Ratio of the two, as counted. It is printed without a verdict and never stands alone.
    shrunken : Reading or None
        The same comparison, shrunken towards the other offices.
    after_a_bad_spell : bool
        True where the visit came because of one, or where nobody wrote down why it came: part of
        any drop is then the spell ending by itself.
    was_training : bool
        False for a visit without one.
    why_not_shrunken : str
        Needed where there is no shrunken comparison.

    Raises
    ------
    InputError
        If there is neither a shrunken comparison nor the reason why.
    """

    on: date
    says: str
    before: Reading
    after: Reading
    plain: Reading
    shrunken: Reading | None = None
    after_a_bad_spell: bool = True
    why_not_shrunken: str = ""
    was_training: bool = True

    def __post_init__(self) -> None:
        if self.shrunken is None and not self.why_not_shrunken:
            raise InputError(
                f"the ratio of {self.on} cannot stand alone: give the shrunken comparison, or why"
                " there is none"
            )


@dataclass(frozen=True, slots=True)
class HandpieceBack:
    """One of the handpieces that come back most.

    Parameters
    ----------
    name, serial, chair : str
        The last two may be empty.
    returns : int
    watched : str
        How long, with its clock: ``"17 months"``, ``"1,240 cycles"``.
    causes : str
        Of its returns, in words; may be empty.
    spent : Decimal or None
        On those returns.
    """

    name: str
    returns: int
    watched: str
    serial: str = ""
    chair: str = ""
    causes: str = ""
    spent: Decimal | None = None


@dataclass(frozen=True, slots=True)
class MoneyShown:
    """What the returns cost, and what of it could have been avoided.

    Parameters
    ----------
    currency : str
    spent : Decimal
        On returns in the period, as billed.
    jobs : int
        Behind it.
    avoidable : Reading or None
        In the currency; None where it cannot be told.
    note : str
        What the figure rests on, or why it cannot be told and what would tell it.
    """

    currency: str
    spent: Decimal
    jobs: int
    avoidable: Reading | None = None
    note: str = ""

    def __post_init__(self) -> None:
        if self.avoidable is None and not self.note:
            raise InputError("say why the avoidable money cannot be told")


@dataclass(frozen=True, slots=True)
class Untold:
    """Something that cannot be told, and what would tell it."""

    what: str
    would_tell: str


@dataclass(frozen=True, slots=True)
class OfficeReviewPaper:
    """Do handpieces of an office come back, why, did the training work, what to change.

    Parameters
    ----------
    shop : ShopHead
    office : str
    first, last : date
        The period, on the office's wall.
    holds : str
        What is there, in words: ``"4 chairs, 14 handpieces, 2 sterilizers"``; may be empty.
    link : str
        What the QR code carries.
    issued_at : datetime
        With its zone.
    issued_by : str
    in_short : str
        The answer in one sentence.
    says : tuple of str
        Plain sentences under it.
    curve : ReturnCurve or None
        None where no handpiece was under observation.
    expected : tuple of Reading
        Returns against what is expected of such handpieces after shrinkage, and how sure it is that
        they lie above; with the readings' own names.
    trainings : tuple of TrainingChecked
        The last one first.
    causes : IncidenceShown or None
    handpieces : tuple of HandpieceBack
        Those that come back most, in order.
    money : MoneyShown or None
    actions : tuple of ActionShown
        In order of expected effect; three are printed.
    untold : tuple of Untold
    counted : tuple of (str, str)
        How it was counted: what a line is about, and the line: period, clock, handpieces, returns
        behind each figure.

    Raises
    ------
    InputError
        If the answer is missing or the period is none.
    """

    shop: ShopHead
    office: str
    first: date
    last: date
    link: str
    issued_at: datetime
    issued_by: str
    in_short: str
    holds: str = ""
    says: tuple[str, ...] = ()
    curve: ReturnCurve | None = None
    expected: tuple[Reading, ...] = ()
    trainings: tuple[TrainingChecked, ...] = ()
    causes: IncidenceShown | None = None
    handpieces: tuple[HandpieceBack, ...] = ()
    money: MoneyShown | None = None
    actions: tuple[ActionShown, ...] = ()
    untold: tuple[Untold, ...] = ()
    counted: tuple[tuple[str, str], ...] = ()

    def __post_init__(self) -> None:
        if not self.in_short:
            raise InputError("an office review needs the answer in one sentence")
        if self.last <= self.first:
            raise InputError(f"the last day {self.last} must lie after the first, {self.first}")
