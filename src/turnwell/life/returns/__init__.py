"""Returns of units that are repaired and come back: how many, whether more, by what law."""

from turnwell.life.returns.difference import Difference, difference
from turnwell.life.returns.mean_cumulative import MeanCumulative, mean_cumulative
from turnwell.life.returns.power_law import PowerLaw, power_law, power_law_of_counts
from turnwell.life.returns.trend import Trend, trend

__all__ = [
    "Difference",
    "MeanCumulative",
    "PowerLaw",
    "Trend",
    "difference",
    "mean_cumulative",
    "power_law",
    "power_law_of_counts",
    "trend",
]
