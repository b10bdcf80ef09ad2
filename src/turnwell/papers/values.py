"""What goes onto a paper, as typed values; nothing here is markup."""

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from enum import StrEnum

from turnwell.errors import InputError
from turnwell.measure import Reading
from turnwell.pictures import CoastTraceChart, OrderPicture, SpeedTraceChart

__all__ = [
    "Answered",
    "CauseNamed",
    "EstimateSheet",
    "FindingLine",
    "JobFacts",
    "Label",
    "Option",
    "PageSize",
    "Pair",
    "SetUp",
    "ShopHead",
    "TestSheet",
]


class PageSize(StrEnum):
    """Size of the sheet."""

    A4 = "a4"
    US_LETTER = "us-letter"


@dataclass(frozen=True, slots=True)
class ShopHead:
    """Who issues the paper; empty lines are left out."""

    name: str
    address: str = ""
    phone: str = ""
    email: str = ""


@dataclass(frozen=True, slots=True)
class JobFacts:
    """Which handpiece and which job the paper is about.

    Parameters
    ----------
    code : str
        The job's code as people read it.
    link : str
        What the QR code carries: an address, or only the code.
    handpiece, kind, serial : str
        Its name, its class, its serial number (may be empty).
    office, chair : str
        Whose it is and where it is used (the chair may be empty).
    complaint : str
        In the office's words; may be empty.
    taken_in : date
        On the office's wall, as every date of a paper.
    """

    code: str
    link: str
    handpiece: str
    kind: str
    serial: str
    office: str
    chair: str
    complaint: str
    taken_in: date


@dataclass(frozen=True, slots=True)
class SetUp:
    """How a test was set up: pairs of what and how, or why it was left out."""

    on: date
    lines: tuple[tuple[str, str], ...] = ()
    left_out_because: str = ""


@dataclass(frozen=True, slots=True)
class Pair:
    """One reading as received and in the final test; at least one of them.

    Parameters
    ----------
    before, after : Reading or None
        Of the same key and unit.
    may_stay_open : bool
        True where "cannot tell" leaves the test no less proven: more than it was made for.
    """

    before: Reading | None
    after: Reading | None
    may_stay_open: bool = False

    def __post_init__(self) -> None:
        if self.before is None and self.after is None:
            raise InputError("a pair of readings needs at least one of the two")

    @property
    def judged(self) -> Reading:
        """The reading whose verdict counts: the later one."""
        reading = self.after or self.before
        if reading is None:
            raise InputError("a pair of readings needs at least one of the two")
        return reading


@dataclass(frozen=True, slots=True)
class FindingLine:
    """One finding, seen or looked for and not seen."""

    name: str
    is_seen: bool
    note: str = ""


@dataclass(frozen=True, slots=True)
class CauseNamed:
    """The main cause a person settled on.

    Parameters
    ----------
    name : str
    explanation : str
        What happens, in a sentence or two.
    words : str
        The technician's own; may be empty.
    contributing : tuple of str
        Names of what contributed.
    """

    name: str
    explanation: str = ""
    words: str = ""
    contributing: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class TestSheet:
    """A handpiece as received and as proved.

    Parameters
    ----------
    shop, job
        Who and what.
    issued_at : datetime
        With its zone; printed, and the time stamp of the file.
    issued_by : str
    before, after : SetUp or None
        The two tests; None for one that was not made.
    differences : tuple of str
        In what the set-ups differ; with any, before and after are not drawn over each other.
    pairs : tuple of Pair
        In the order of the table.
    trace : SpeedTraceChart or None
    coast : CoastTraceChart or None
    orders : OrderPicture or None
    said : tuple of (str, str)
        What the sound says: what a sentence is about, and the sentence.
    findings : tuple of FindingLine
    done : tuple of str
        What was done and what went in.
    cause : CauseNamed or None
    advice : tuple of str
        What the office should do, the most effective first.
    cautions : tuple of str
        Beside the two that always stand on it.
    """

    __test__ = False

    shop: ShopHead
    job: JobFacts
    issued_at: datetime
    issued_by: str
    before: SetUp | None = None
    after: SetUp | None = None
    differences: tuple[str, ...] = ()
    pairs: tuple[Pair, ...] = ()
    trace: SpeedTraceChart | None = None
    coast: CoastTraceChart | None = None
    orders: OrderPicture | None = None
    said: tuple[tuple[str, str], ...] = ()
    findings: tuple[FindingLine, ...] = ()
    done: tuple[str, ...] = ()
    cause: CauseNamed | None = None
    advice: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Option:
    """One way to go on, with its price; all amounts in one currency.

    Parameters
    ----------
    worth : tuple of str
        What it is expected to bring, a sentence a line; empty where nothing is said of it.
    """

    name: str
    words: str
    parts: Decimal
    labour: Decimal
    tax: Decimal
    total: Decimal
    tax_percent: Decimal
    warranty_months: int = 0
    worth: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Answered:
    """What the office answered: agreed to an option, or declined (an empty option)."""

    option: str
    by: str
    on: date
    note: str = ""


@dataclass(frozen=True, slots=True)
class EstimateSheet:
    """What a repair would cost, option by option.

    Parameters
    ----------
    compared : str
        Which option costs least a use and how sure that is; empty where nothing is compared.
    """

    shop: ShopHead
    job: JobFacts
    issued_at: datetime
    issued_by: str
    currency: str
    tax_name: str
    options: tuple[Option, ...]
    findings: tuple[FindingLine, ...] = ()
    cause: CauseNamed | None = None
    answer: Answered | None = None
    compared: str = ""

    def __post_init__(self) -> None:
        if not self.options:
            raise InputError("an estimate needs at least one option; write one with its price")


@dataclass(frozen=True, slots=True)
class Label:
    """A small label for a handpiece's pouch or a job's tray.

    Parameters
    ----------
    code : str
        As people read it.
    link : str
        What the QR code carries.
    handpiece, serial, office : str
        The serial may be empty.
    printed_at : datetime
        The time stamp of the file; it is not printed.
    """

    code: str
    link: str
    handpiece: str
    serial: str
    office: str
    printed_at: datetime
