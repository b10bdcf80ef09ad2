"""Weibull lives: fit, intervals, bound without a failure, grid over what the lives leave open."""

from turnwell.life.weibull.fit import WeibullFit, weibull_fit

__all__ = ["WeibullFit", "weibull_fit"]
