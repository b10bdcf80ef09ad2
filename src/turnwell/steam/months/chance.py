"""How likely chance alone makes shares differ as they do.

References
----------
Two counts: [FISHER1934]. Many comparisons: [HOLM1979], without those that could never stand out,
[TARONE1990].
"""

from collections.abc import Sequence
from math import exp, lgamma

from turnwell.steam.months.share import Share, share_of

__all__ = ["chance_of_more", "chance_of_unlike", "standing_out"]

_TIED = 1.0 + 1e-7  # tables as likely as the one found count with it, whatever rounding does


def chance_of_more(part: Share, every: Share) -> float:
    """Give the chance of at least so many cut short in a part, were all runs drawn alike.

    Parameters
    ----------
    part, every : Share
        The runs of the part are among all runs.

    Examples
    --------
    >>> round(chance_of_more(share_of(3, 4), share_of(4, 8)), 4)  # 17 of 70 ways
    0.2429
    """
    most = min(part.runs, every.short)
    return min(
        1.0, sum(_hypergeometric(found, part, every) for found in range(part.short, most + 1))
    )


def chance_of_unlike(before: Share, after: Share) -> float:
    """Give the chance of two counts at least as unlike, were all runs drawn alike: two-sided.

    Examples
    --------
    >>> round(chance_of_unlike(share_of(3, 4), share_of(1, 4)), 4)  # 34 of 70 ways
    0.4857
    """
    every = share_of(before.short + after.short, before.runs + after.runs)
    first, last = max(0, every.short - after.runs), min(before.runs, every.short)
    found = _hypergeometric(before.short, before, every)
    chances = [_hypergeometric(short, before, every) for short in range(first, last + 1)]
    return min(1.0, sum(chance for chance in chances if chance <= found * _TIED))


def standing_out(shares: Sequence[Share], every: Share, *, false_alarm: float) -> tuple[bool, ...]:
    """Mark the parts that are more often cut short than chance explains, from the rarest on.

    Parameters
    ----------
    shares : sequence of Share
        The parts of all runs.
    every : Share
        Of all runs.
    false_alarm : float
        Chance, above 0 and below 1, that any part is marked where all are alike.

    Returns
    -------
    tuple of bool
        One for each part, in their order.
    """
    chances = [chance_of_more(share, every) for share in shares]
    tested = _able_to_stand_out(shares, every, false_alarm)
    out = [False] * len(chances)
    for passed, place in enumerate(sorted(tested, key=lambda place: chances[place])):
        if chances[place] > false_alarm / (len(tested) - passed):
            break
        out[place] = True
    return tuple(out)


def _able_to_stand_out(shares: Sequence[Share], every: Share, false_alarm: float) -> list[int]:
    """Give the places of the parts that would pass if as many as could be were cut short there."""
    least = [
        chance_of_more(share_of(min(share.runs, every.short), share.runs), every)
        for share in shares
    ]
    tests = next(
        (
            count
            for count in range(1, len(least) + 1)
            if sum(rare <= false_alarm / count for rare in least) <= count
        ),
        1,
    )
    return [place for place, rare in enumerate(least) if rare <= false_alarm / tests]


def _hypergeometric(short: int, part: Share, every: Share) -> float:
    """Give the chance of exactly so many cut short in a part of all runs."""
    return exp(
        _log_ways(every.short, short)
        + _log_ways(every.runs - every.short, part.runs - short)
        - _log_ways(every.runs, part.runs)
    )


def _log_ways(total: int, drawn: int) -> float:
    if not 0 <= drawn <= total:
        return float("-inf")
    return lgamma(total + 1.0) - lgamma(drawn + 1.0) - lgamma(total - drawn + 1.0)
