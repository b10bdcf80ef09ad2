"""How far an intake is."""

from collections.abc import Mapping
from dataclasses import dataclass

from turnwell.web.sterilizers.models import IntakeFile

__all__ = ["Progress", "progress_of"]

State = IntakeFile.State


@dataclass(frozen=True, slots=True)
class Progress:
    """Counts of an intake's files.

    Parameters
    ----------
    read, duplicates, refused, asking, to_do : int
        Read into the book; there before; turned down; waiting for their columns to be confirmed;
        still to be read.
    """

    read: int
    duplicates: int
    refused: int
    asking: int
    to_do: int

    @property
    def total(self) -> int:
        """All files."""
        return self.read + self.duplicates + self.refused + self.asking + self.to_do

    @property
    def done(self) -> int:
        """Files that nothing more is to be done with by the machine."""
        return self.total - self.to_do


def progress_of(counts: Mapping[str, int]) -> Progress:
    """Give the progress of counts by state."""
    return Progress(
        read=counts.get(State.READ, 0),
        duplicates=counts.get(State.DUPLICATE, 0),
        refused=counts.get(State.REFUSED, 0),
        asking=counts.get(State.ASKS, 0),
        to_do=counts.get(State.WAITING, 0) + counts.get(State.READING, 0),
    )
