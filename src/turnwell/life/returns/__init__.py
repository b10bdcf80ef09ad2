"""Returns of units that are repaired and come back: how many, whether more, by what law."""

from turnwell.life.returns.mean_cumulative import MeanCumulative, mean_cumulative

__all__ = ["MeanCumulative", "mean_cumulative"]
