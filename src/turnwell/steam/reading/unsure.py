"""What was found in a file, for a person to confirm, and the error that asks for it."""

from dataclasses import dataclass

from turnwell.errors import CannotTellError
from turnwell.steam.reading.layout import Layout
from turnwell.steam.record import RowCounts
from turnwell.words import Message, text_of

__all__ = ["ColumnGuess", "OpenChoice", "Proposal", "UnsureLayoutError"]


@dataclass(frozen=True, slots=True)
class ColumnGuess:
    """What one column is held to be.

    Parameters
    ----------
    number : int
        From 1.
    heading : str
        The words above it, "" where there are none.
    role : str
        ``"time"``, ``"date"``, ``"temperature"``, ``"second temperature"``, ``"pressure"``,
        ``"stage"`` or ``"not used"``.
    unit, zero : str
        In the words of the command line, "" where there is none or it is open.
    told_by : Message
        By its heading, by what the numbers do, as given.
    """

    number: int
    heading: str
    role: str
    unit: str
    zero: str
    told_by: Message


@dataclass(frozen=True, slots=True)
class OpenChoice:
    """One thing the file leaves open.

    Parameters
    ----------
    key : str
        ``"time"``, ``"temperature"``, ``"pressure"``, ``"pressure_unit"`` ...
    text : Message
        The question.
    choices : tuple of str
        What may be answered; none where anything may.
    option : str
        Of the command line, that settles it.
    """

    key: str
    text: Message
    choices: tuple[str, ...]
    option: str


@dataclass(frozen=True, slots=True)
class Proposal:
    """A layout to be confirmed.

    Parameters
    ----------
    layout : Layout
        The best guess; complete where nothing is open.
    columns : tuple of ColumnGuess
    questions : tuple of OpenChoice
        None where the file was told.
    rows : tuple of tuple of str
        The first rows of values as they stand.
    counts : RowCounts
    """

    layout: Layout
    columns: tuple[ColumnGuess, ...]
    questions: tuple[OpenChoice, ...]
    rows: tuple[tuple[str, ...], ...]
    counts: RowCounts

    @property
    def sure(self) -> bool:
        """True where nothing is open."""
        return not self.questions


class UnsureLayoutError(CannotTellError):
    """A file's columns, units or zero are open; carries the proposal to be confirmed."""

    def __init__(self, proposal: Proposal) -> None:
        super().__init__(" ".join(text_of(question.text) for question in proposal.questions))
        self.proposal = proposal
