"""Curves of a first event: running on, compared between groups, and by cause."""

from turnwell.life.curves.incidence import CauseCurve, Incidence, cumulative_incidence
from turnwell.life.curves.log_rank import LogRank, log_rank
from turnwell.life.curves.product_limit import SurvivalCurve, product_limit
from turnwell.life.curves.restricted_mean import restricted_mean

__all__ = [
    "CauseCurve",
    "Incidence",
    "LogRank",
    "SurvivalCurve",
    "cumulative_incidence",
    "log_rank",
    "product_limit",
    "restricted_mean",
]
