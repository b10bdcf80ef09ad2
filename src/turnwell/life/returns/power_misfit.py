"""Whether returns follow a power law at all.

References
----------
[MILHDBK189]; its limit from that of an exponential law with its scale estimated, [DAGOSTINO1986].
"""

import numpy as np

from turnwell.life.lives import Histories
from turnwell.life.returns.power_fit import LEAST_RETURNS

__all__ = ["MISFIT_LIMIT", "misfit_of"]

# Upper 5 % point of the statistic for any number of returns from about 5 on, two digits
# [DAGOSTINO1986], table 4.14 (from memory; met in simulation).
MISFIT_LIMIT = 0.22


def misfit_of(histories: Histories, *, is_failure_terminated: bool) -> float | None:
    """Give the statistic of Cramer and von Mises, each return on the scale of its unit's watch.

    The shape comes from where the returns lie within each watch, which the limit supposes; with a
    late start no such shape has a known limit, and there is no statistic.
    """
    kept = histories.at < histories.stop[histories.unit] if is_failure_terminated else slice(None)
    unit, ages = histories.unit[kept], histories.at[kept]
    if ages.size < LEAST_RETURNS or histories.start.any():
        return None
    share = ages / histories.stop[unit]
    shape = (ages.size - 1.0) / -float(np.sum(np.log(share)))
    even = (2.0 * np.arange(1, ages.size + 1) - 1.0) / (2.0 * ages.size)
    return float(1.0 / (12.0 * ages.size) + np.sum((np.sort(share**shape) - even) ** 2))
