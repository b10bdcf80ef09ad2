"""The smallest count that a distribution of counts stays within."""

from collections.abc import Callable

from turnwell.errors import InputError

__all__ = ["MOST", "least_count"]

# Beyond this nothing is counted at a bench; the search ends there.
MOST = 10_000_000


def least_count(at_most: Callable[[int], float], share: float, *, near: float) -> int:
    """Give the smallest count that is not exceeded with a chance of `share` at least.

    Parameters
    ----------
    at_most : callable
        Gives the chance of a count or fewer, count >= 0.
    share : float
        Above 0 and below 1.
    near : float
        Where it lies about, >= 0: the mean of the count.

    Raises
    ------
    InputError
        If that takes a count of more than ten million.

    Examples
    --------
    >>> least_count(lambda count: 1.0 - 0.5 ** (count + 1), 0.95, near=1.0)
    4
    """
    low, high = -1, max(1, int(near))
    while at_most(high) < share:
        low, high = high, 2 * high
        if high > MOST:
            raise InputError(f"a chance of {share} asks for a count over {MOST:,}; lower it")
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if at_most(middle) >= share else (middle, high)
    return high
