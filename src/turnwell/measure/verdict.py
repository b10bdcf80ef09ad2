"""The decision rule: what an interval says about a limit.

References
----------
[ISO14253-1] and [JCGM106], 8.2 and 8.3.2: acceptance with guard bands on both sides. Here the
guard band is half of the two-sided 95 % interval, which is stricter than a one-sided 95 % rule: the
chance that a value declared within lies outside one limit is at most 2.5 %.
"""

from enum import StrEnum

from turnwell.measure.limit import Limit

__all__ = ["Verdict", "verdict_on"]


class Verdict(StrEnum):
    """What a reading says about its limit; always shown as this word."""

    WITHIN = "within"
    OUTSIDE = "outside"
    NOT_PROVEN = "not proven"
    CANNOT_TELL = "cannot tell"
    NO_LIMIT = "no limit"

    @property
    def key(self) -> str:
        """The word as an identifier, for message keys and class names."""
        return self.value.replace(" ", "_")


def verdict_on(low: float, high: float, limit: Limit | None) -> Verdict:
    """Decide on an interval: wholly inside, wholly outside, or across a limit.

    Parameters
    ----------
    low, high : float
        Ends of the 95 % interval, low <= high, in the limit's unit.
    limit : Limit or None
        A limit that is touched counts as inside.

    Examples
    --------
    >>> from turnwell.measure import Basis
    >>> at_most = Limit(low=None, high=0.03, source="example", basis=Basis.OWN)
    >>> verdict_on(0.01, 0.03, at_most).value, verdict_on(0.02, 0.04, at_most).value
    ('within', 'not proven')
    """
    if limit is None:
        return Verdict.NO_LIMIT
    lowest = float("-inf") if limit.low is None else limit.low
    highest = float("inf") if limit.high is None else limit.high
    if lowest <= low and high <= highest:
        return Verdict.WITHIN
    if high < lowest or low > highest:
        return Verdict.OUTSIDE
    return Verdict.NOT_PROVEN
