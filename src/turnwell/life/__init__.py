"""Lives and returns of repaired things: how long they last, why they come back, what it is worth.

Ages are in care cycles where they are counted, in days else; the clock goes with every result.
"""

from turnwell.life.curves import (
    CauseCurve,
    Incidence,
    LogRank,
    SurvivalCurve,
    cumulative_incidence,
    log_rank,
    product_limit,
    restricted_mean,
)
from turnwell.life.decide import (
    AgeReplacement,
    Comparison,
    Option,
    Renewal,
    Worth,
    age_replacement,
    compare,
    minimal_repair_interval,
    renewal_age,
    run_to_failure_cost,
    worth_of,
)
from turnwell.life.estimate import Estimate
from turnwell.life.lives import NO_CAUSE, Clock, Histories, Lives
from turnwell.life.rates import (
    Funnel,
    GammaPrior,
    Predictive,
    RateRatio,
    ShopSpread,
    Shrunken,
    funnel,
    rate,
    rate_p,
    rate_ratio,
    shrink,
)
from turnwell.life.returns import Difference, MeanCumulative, difference, mean_cumulative
from turnwell.life.table import LivesTable, ReturnsTable, read_table
from turnwell.life.version import LIFE_VERSION
from turnwell.life.weibull import (
    ScaleBound,
    WeibullFit,
    WeibullGrid,
    scale_bound,
    weibull_fit,
    weibull_grid,
)

__all__ = [
    "LIFE_VERSION",
    "NO_CAUSE",
    "AgeReplacement",
    "CauseCurve",
    "Clock",
    "Comparison",
    "Difference",
    "Estimate",
    "Funnel",
    "GammaPrior",
    "Histories",
    "Incidence",
    "Lives",
    "LivesTable",
    "LogRank",
    "MeanCumulative",
    "Option",
    "Predictive",
    "RateRatio",
    "Renewal",
    "ReturnsTable",
    "ScaleBound",
    "ShopSpread",
    "Shrunken",
    "SurvivalCurve",
    "WeibullFit",
    "WeibullGrid",
    "Worth",
    "age_replacement",
    "compare",
    "cumulative_incidence",
    "difference",
    "funnel",
    "log_rank",
    "mean_cumulative",
    "minimal_repair_interval",
    "product_limit",
    "rate",
    "rate_p",
    "rate_ratio",
    "read_table",
    "renewal_age",
    "restricted_mean",
    "run_to_failure_cost",
    "scale_bound",
    "shrink",
    "weibull_fit",
    "weibull_grid",
    "worth_of",
]
