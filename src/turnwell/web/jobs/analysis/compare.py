"""Before and after: the readings of the test as received beside those of the final test.

A change is given only where both tests had the same set-up; elsewhere it cannot be told, and why.
Its interval is the root of the sum of squares of the two half intervals: the two readings are taken
as independent, though an error of one gauge that both share cancels in truth. So the interval is on
the wide side.

References
----------
[JCGM100], 5.1.2: combination of independent parts.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import hypot

from turnwell.measure import Reading, cannot_tell, reading
from turnwell.web.jobs.models import StoredReading
from turnwell.web.jobs.reading_groups import is_further
from turnwell.web.jobs.set_ups import set_up_differences
from turnwell.web.jobs.tests_on_file import TestOnFile
from turnwell.words import Message

__all__ = ["Comparison", "Pair", "comparison", "last_readings"]


@dataclass(frozen=True, slots=True)
class Pair:
    """One reading before and after, and its change.

    Parameters
    ----------
    before, after : Reading or None
        None where it was not measured.
    change : Reading
        After minus before; "cannot tell" where the two may not be compared.
    """

    before: Reading | None
    after: Reading | None
    change: Reading

    @property
    def is_proven(self) -> bool:
        """True where the whole interval of the change lies on one side of zero."""
        low, high = self.change.low, self.change.high
        return low is not None and high is not None and (low > 0.0 or high < 0.0)

    @property
    def is_detail(self) -> bool:
        """True for a reading that is for who wants all figures."""
        either = self.after or self.before
        return either is not None and is_further(either)


@dataclass(frozen=True, slots=True)
class Comparison:
    """All readings before and after, and in what the two set-ups differ.

    Parameters
    ----------
    before, after : TestOnFile
        The two tests.
    differences : tuple of str
        Empty where the tests may be compared.
    pairs : tuple of Pair
        In the order of the final test, what only the first had last.
    """

    before: TestOnFile
    after: TestOnFile
    differences: tuple[str, ...]
    pairs: tuple[Pair, ...]

    @property
    def first(self) -> tuple[Pair, ...]:
        """The changes a person acts on: those that are proven, of readings that are no detail."""
        return tuple(pair for pair in self.pairs if pair.is_proven and not pair.is_detail)

    @property
    def further(self) -> tuple[Pair, ...]:
        """The others."""
        return tuple(pair for pair in self.pairs if not pair.is_proven or pair.is_detail)


def comparison(before: TestOnFile, after: TestOnFile) -> Comparison:
    """Hold the readings of two tests side by side."""
    differences = set_up_differences(before.test, after.test)
    first, second = last_readings(before.readings), last_readings(after.readings)
    keys = [*second, *(key for key in first if key not in second)]
    return Comparison(
        before,
        after,
        differences,
        tuple(_pair(first.get(key), second.get(key), differences) for key in keys),
    )


def last_readings(rows: Sequence[StoredReading]) -> Mapping[str, Reading]:
    """Give the last reading of each key; one with a value before one without."""
    chosen: dict[str, Reading] = {}
    for row in rows:
        if row.key not in chosen or row.value is not None or chosen[row.key].value is None:
            chosen[row.key] = row.reading
    return chosen


def _pair(before: Reading | None, after: Reading | None, differences: Sequence[str]) -> Pair:
    either = after or before
    if either is None:
        raise ValueError("a pair needs one reading at least")
    name = Message("jobs.difference", {"name": either.name})
    key = f"{either.key}_change"

    def untold(why: Message) -> Pair:
        return Pair(before, after, cannot_tell(key, either.unit, why, name=name))

    if before is None or after is None:
        return untold(Message("jobs.one_side_missing"))
    if differences:
        return untold(Message("jobs.other_set_up", {"what": differences[0]}))
    if before.value is None or after.value is None or before.unit != after.unit:
        return untold(Message("jobs.one_side_untold"))
    change = after.value - before.value
    half = hypot(_half(before), _half(after))
    is_open = change - half <= 0.0 <= change + half
    why = Message("jobs.difference_open" if is_open else "jobs.difference_proven")
    return Pair(
        before,
        after,
        reading(key, change, change - half, change + half, after.unit, name=name, why=why),
    )


def _half(one: Reading) -> float:
    """Give the larger half of an interval, which need not be even on both sides."""
    if one.value is None or one.low is None or one.high is None:
        raise ValueError(f"{one.key} has no interval")
    return max(one.high - one.value, one.value - one.low)
