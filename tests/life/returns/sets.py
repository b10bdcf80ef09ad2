"""Published sets of returns, retyped; short enough to be read beside their tables."""

import numpy as np

from turnwell.life import Histories

__all__ = ["FIVE", "GROWTH", "HANDBOOK", "ROCOF", "TEN", "one_unit"]


def one_unit(at: list[float], stop: float) -> Histories:
    """Give one unit watched from 0."""
    return Histories.of([stop], [0] * len(at), at)


# Five systems of the documentation of an open package of reliability methods.
FIVE = Histories.of(
    [17, 19, 26, 24, 28],
    [0, 0, 0, 1, 1, 1, 2, 2, 2, 3, 3, 4, 4, 4],
    [5, 10, 15, 6, 13, 17, 12, 20, 25, 13, 15, 16, 22, 25],
)

# One system to 300 hours [MILHDBK189], appendix C.
_HOURS = [2.6, 16.5, 16.5, 17.0, 21.4, 29.1, 33.3, 56.5, 63.1, 70.6, 73.0, 77.7, 93.9, 95.5]
_HOURS += [98.1, 101.1, 132.0, 142.2, 147.7, 149.0, 167.2, 190.7, 193.0, 198.7, 251.9, 282.5, 286.1]
HANDBOOK = one_unit(_HOURS, 300.0)

# Ten repairs of one system watched to 1500 hours [NISTHANDBOOK], 8.1.7 and 8.4.5.1.
TEN = one_unit([5, 40, 43, 175, 389, 712, 747, 795, 1299, 1478], 1500.0)

# 22 failures of a system on trial, ended by the last; documentation of the same package.
_GROWN = [2.7, 10.3, 12.5, 30.6, 57.0, 61.3, 80.0, 109.5, 125.0, 128.6, 143.8, 167.9, 229.2]
_GROWN += [296.7, 320.6, 328.2, 366.2, 396.7, 421.1, 438.2, 501.2, 620.0]
GROWTH = one_unit(_GROWN, 620.0)

# Thirty gaps, the watch ended by the last failure; documentation of the same package.
_GAPS = [104, 131, 1597, 59, 4, 503, 157, 6, 118, 173, 114, 62, 101, 216, 106, 140, 1, 102, 3]
_GAPS += [393, 96, 232, 89, 61, 37, 293, 7, 165, 87, 99]
ROCOF = one_unit(np.cumsum(_GAPS).tolist(), float(sum(_GAPS)))
