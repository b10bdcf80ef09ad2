"""Why handpieces come back, as cumulative incidence: bars with whiskers, a row a cause.

Of a hundred handpieces handed back, how many have come back by an age, and of which cause. Shares
of all rows and of those still running add up to the whole. Before and after a training stand over
each other: grey before, brass after.
"""

from dataclasses import dataclass
from enum import StrEnum

from turnwell.errors import InputError
from turnwell.pictures.estimated import Estimated

__all__ = ["IncidenceRow", "IncidenceShown", "RowKind"]


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
    def has_before(self) -> bool:
        """True where before and after the training are told apart."""
        return any(row.before is not None for row in self.rows)
