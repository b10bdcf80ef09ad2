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


def misfit_of(histories: Histories, shape: float, *, is_failure_terminated: bool) -> float | None:
    """Give the statistic of Cramer and von Mises, each return on the scale of its unit's watch."""
    lost = 2 if is_failure_terminated else 1
    kept = histories.at < histories.stop[histories.unit] if is_failure_terminated else slice(None)
    unit, ages = histories.unit[kept], histories.at[kept]
    unbiased = shape * (histories.returns - lost) / histories.returns
    if ages.size < LEAST_RETURNS or unbiased <= 0.0:
        return None
    stop = histories.stop[unit]
    first = (histories.start[unit] / stop) ** unbiased
    place = np.sort(((ages / stop) ** unbiased - first) / (1.0 - first))
    even = (2.0 * np.arange(1, ages.size + 1) - 1.0) / (2.0 * ages.size)
    return float(1.0 / (12.0 * ages.size) + np.sum((place - even) ** 2))
