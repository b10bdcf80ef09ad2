"""How often handpieces come back: rates, offices compared, a visit's effect, what would help."""

from turnwell.life.rates.funnel import Funnel, FunnelLimits, funnel
from turnwell.life.rates.poisson import RateRatio, rate, rate_p, rate_ratio

__all__ = ["Funnel", "FunnelLimits", "RateRatio", "funnel", "rate", "rate_p", "rate_ratio"]
