"""The root of a falling function, by Newton steps kept inside a bracket."""

from collections.abc import Callable

__all__ = ["falling_root"]

_LONGEST_STEP = 3.0
_MOST_STEPS = 200


def falling_root(
    at: Callable[[float], tuple[float, float]],
    start: float,
    low: float,
    high: float,
    *,
    tolerance: float = 1e-10,
) -> float:
    """Find where a falling function crosses zero; the nearer end where it does not.

    Parameters
    ----------
    at : callable
        Gives value and slope at a place. A slope only about right costs steps, not accuracy.
    start : float
        Where to begin, between low and high.
    low, high : float
        Ends of the stretch searched. What comes out at an end says that the root is not inside.
    tolerance : float
        Largest last step.

    Examples
    --------
    >>> round(falling_root(lambda x: (2.0 - x * x, -2.0 * x), 1.0, 0.0, 10.0), 8)
    1.41421356
    """
    place = min(max(start, low), high)
    left, right = low, high
    for _ in range(_MOST_STEPS):
        value, slope = at(place)
        if value == 0.0:
            return place
        if value > 0.0:
            left = place
        else:
            right = place
        step = -value / slope if slope < 0.0 else (_LONGEST_STEP if value > 0.0 else -_LONGEST_STEP)
        new = place + min(max(step, -_LONGEST_STEP), _LONGEST_STEP)
        if not left < new < right:
            new = 0.5 * (left + right)
        if abs(new - place) <= tolerance:
            return new
        place = new
    return place
