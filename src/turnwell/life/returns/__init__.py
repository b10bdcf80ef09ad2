"""Returns of units that are repaired and come back: how many, whether more, by what law."""

from turnwell.life.returns.difference import Difference, difference
from turnwell.life.returns.mean_cumulative import MeanCumulative, mean_cumulative

__all__ = ["Difference", "MeanCumulative", "difference", "mean_cumulative"]
