"""A shop's own confirmed causes, as counts that outweigh the trade's experience with time."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from math import isfinite
from types import MappingProxyType

from turnwell.errors import InputError

__all__ = ["ConfirmedCase", "ShopCounts", "weight_of_case"]

# A person who has read the ranking and then agrees with it says partly what the ranking said. Half
# a case keeps such agreement from confirming the ranking by itself, and still lets it be outvoted.
# Own choice; no study of it is known to us.
WEIGHT_AFTER_LADDER = 0.5


def weight_of_case(*, is_own_view: bool, is_after_ladder: bool, is_read: bool = True) -> float:
    """Give how much a confirmed cause counts.

    Parameters
    ----------
    is_own_view : bool
        The cause is the one the technician named before the ladder was shown, or differs from the
        ladder's first.
    is_after_ladder : bool
        The cause was settled after the ladder was shown.
    is_read : bool
        False where the ladder's first was accepted without a look at the evidence.

    Returns
    -------
    float
        1 for an own view, a half for agreement after seeing the ladder, 0 for what was not read.

    Examples
    --------
    >>> weight_of_case(is_own_view=False, is_after_ladder=True)
    0.5
    """
    if not is_read:
        return 0.0
    return WEIGHT_AFTER_LADDER if is_after_ladder and not is_own_view else 1.0


@dataclass(frozen=True, slots=True)
class ConfirmedCase:
    """A closed job whose main cause a person confirmed.

    Parameters
    ----------
    cause : str
        Key of the main cause.
    seen, not_seen : tuple of str
        Keys of the findings that were answered.
    weight : float
        From `weight_of_case`, between 0 and 1.
    """

    cause: str
    seen: tuple[str, ...] = ()
    not_seen: tuple[str, ...] = ()
    weight: float = 1.0

    def __post_init__(self) -> None:
        if not 0.0 <= self.weight <= 1.0:
            raise InputError(f"a case's weight is {self.weight}, must lie between 0 and 1")
        both = set(self.seen) & set(self.not_seen)
        if both:
            raise InputError(f"{min(both)} cannot be both seen and not seen in one case")


@dataclass(frozen=True, slots=True)
class ShopCounts:
    """Own cases of one group of classes, or of one office, counted.

    Never count a case whose cause was only accepted from this ranking unread: it would confirm
    itself. `from_cases` leaves out what weighs nothing.

    Parameters
    ----------
    causes : mapping of cause key to float
        Weighted number of cases by main cause.
    seen, looked : mapping of (finding key, cause key) to float
        Weighted number of those cases in which the finding was seen, and in which it was looked
        for.
    """

    causes: Mapping[str, float]
    seen: Mapping[tuple[str, str], float] = field(default_factory=dict)
    looked: Mapping[tuple[str, str], float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for name in ("causes", "seen", "looked"):
            counts = dict(getattr(self, name))
            for key, count in counts.items():
                if not isfinite(count) or count < 0:
                    raise InputError(f"the count of {key} is {count}, must be finite and >= 0")
            object.__setattr__(self, name, MappingProxyType(counts))
        for cell, count in self.seen.items():
            if count > self.looked.get(cell, 0.0):
                raise InputError(
                    f"{cell[0]} under {cell[1]} was seen {count:g} times but looked for "
                    f"{self.looked.get(cell, 0.0):g} times"
                )

    @property
    def total(self) -> float:
        """Weighted number of cases."""
        return sum(self.causes.values())

    @classmethod
    def from_cases(cls, cases: Iterable[ConfirmedCase]) -> "ShopCounts":
        """Count confirmed cases.

        >>> counts = ShopCounts.from_cases(
        ...     [ConfirmedCase("worn_out", seen=("feel_rough",)), ConfirmedCase("worn_out")]
        ... )
        >>> counts.total, counts.looked[("feel_rough", "worn_out")]
        (2.0, 1.0)
        """
        causes: defaultdict[str, float] = defaultdict(float)
        seen: defaultdict[tuple[str, str], float] = defaultdict(float)
        looked: defaultdict[tuple[str, str], float] = defaultdict(float)
        for case in cases:
            if case.weight == 0.0:
                continue
            causes[case.cause] += case.weight
            for finding in (*case.seen, *case.not_seen):
                looked[finding, case.cause] += case.weight
            for finding in case.seen:
                seen[finding, case.cause] += case.weight
        return cls(causes, seen, looked)
