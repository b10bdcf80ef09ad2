"""Where names beside the ends of lines have room: as near to their lines as they can all be."""

from collections.abc import Sequence

__all__ = ["spread_out"]


def spread_out(
    wanted: Sequence[float], tall: Sequence[float], *, gap: float, top: float, bottom: float
) -> list[float]:
    """Give the upper edges of labels that do not lie on one another.

    Parameters
    ----------
    wanted : sequence of float
        Where each label's middle would best be; heights grow downward.
    tall : sequence of float
        Their heights, > 0.
    gap : float
        Between two, >= 0.
    top, bottom : float
        Edges they are kept between, as far as they all have room there.

    Returns
    -------
    list of float
        Upper edges, in the order given. Labels keep the order of their lines, and the sum of the
        squares of their ways is the least it can be.

    Examples
    --------
    >>> spread_out([50.0, 52.0], [10.0, 10.0], gap=2.0, top=0.0, bottom=100.0)
    [40.0, 52.0]
    """
    order = sorted(range(len(wanted)), key=lambda place: wanted[place])
    # With the labels above taken off, "no two overlap" becomes "these never fall".
    above, total = [], 0.0
    for place in order:
        above.append(total)
        total += tall[place] + gap
    free = [
        wanted[place] - tall[place] / 2.0 - before
        for place, before in zip(order, above, strict=True)
    ]
    last = max(bottom - (total - gap), top)
    edges = [0.0] * len(order)
    for place, before, start in zip(order, above, _rising(free), strict=True):
        edges[place] = min(max(start, top), last) + before
    return edges


def _rising(numbers: Sequence[float]) -> list[float]:
    """Give the never falling numbers nearest to some: neighbours that fall become their mean."""
    means: list[float] = []
    sizes: list[int] = []
    for number in numbers:
        mean, size = number, 1
        while means and means[-1] > mean:
            mean = (mean * size + means[-1] * sizes[-1]) / (size + sizes[-1])
            size += sizes.pop()
            means.pop()
        means.append(mean)
        sizes.append(size)
    return [mean for mean, size in zip(means, sizes, strict=True) for _ in range(size)]
