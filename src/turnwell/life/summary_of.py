"""From a table to its answer."""

from collections.abc import Sequence
from math import inf

from turnwell.errors import InputError
from turnwell.life.summary import Summary
from turnwell.life.table import LivesTable, ReturnsTable

__all__ = ["ASSUMED_SHAPE", "summary_of"]

# Common practice for rolling bearings, which most handpieces fail of; every caller can set another.
ASSUMED_SHAPE = 1.5
MOST_AGES = 50


def summary_of(
    table: LivesTable | ReturnsTable,
    *,
    ages: Sequence[float] = (),
    assumed_shape: float = ASSUMED_SHAPE,
    level: float = 0.95,
) -> Summary:
    r"""Answer a table: how long they last, or how often they come back.

    Intervals of a Weibull life are those of the profile likelihood, the ones that are published and
    that other programs print.

    Parameters
    ----------
    table : LivesTable or ReturnsTable
        Of `read_table`.
    ages : sequence of float
        At which survival or mean returns are wanted, >= 0, at most 50; round ones where empty.
    assumed_shape : float
        Weibull shape that the lower bound of the scale takes where nothing failed.
    level : float
        Coverage of the intervals.

    Raises
    ------
    InputError
        If an option is out of range.

    Examples
    --------
    >>> from turnwell.life import read_table
    >>> rows = "exit,failed\n" + "".join(f"{age},1\n" for age in (120, 250, 310, 420, 500))
    >>> summary = summary_of(read_table(rows.encode(), "five.csv"))
    >>> round(summary.reading("weibull_shape").value, 2)
    2.69
    """
    if len(ages) > MOST_AGES:
        raise InputError(f"{len(ages)} ages were asked for; give {MOST_AGES} at most")
    for age in ages:
        if not 0.0 <= age < inf:
            raise InputError(f"age is {age}, must be finite and >= 0")
    if not 0.05 <= assumed_shape <= 50.0:
        raise InputError(f"the assumed shape is {assumed_shape:g}, must lie between 0.05 and 50")
    if isinstance(table, LivesTable):
        from turnwell.life.summary_lives import lives_summary

        return lives_summary(table, ages=ages, assumed_shape=assumed_shape, level=level)
    from turnwell.life.summary_returns import returns_summary

    return returns_summary(table, ages=ages, level=level)
