"""Weibull lives: fit, intervals, bound without a failure, grid over what the lives leave open."""

from turnwell.life.weibull.bound import ScaleBound, scale_bound
from turnwell.life.weibull.fit import WeibullFit, weibull_fit
from turnwell.life.weibull.grid import WeibullGrid, weibull_grid
from turnwell.life.weibull.lifetimes import mean_ahead, survival_ahead

__all__ = [
    "ScaleBound",
    "WeibullFit",
    "WeibullGrid",
    "mean_ahead",
    "scale_bound",
    "survival_ahead",
    "weibull_fit",
    "weibull_grid",
]
