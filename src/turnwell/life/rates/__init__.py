"""How often handpieces come back: rates, offices compared, a visit's effect, what would help."""

from turnwell.life.rates.amount import Amount
from turnwell.life.rates.change import Change, Spell, change, spell
from turnwell.life.rates.effect import (
    Action,
    CauseCounts,
    Effectiveness,
    ExpectedEffect,
    effectiveness,
    expected_effects,
    mean_cost,
    yearly_returns,
)
from turnwell.life.rates.funnel import Funnel, FunnelLimits, funnel
from turnwell.life.rates.outlook import Window, outlook
from turnwell.life.rates.poisson import RateRatio, rate, rate_p, rate_ratio
from turnwell.life.rates.predictive import Predictive
from turnwell.life.rates.shrinkage import GammaPrior, Shrunken, shrink
from turnwell.life.rates.spread import ShopSpread

__all__ = [
    "Action",
    "Amount",
    "CauseCounts",
    "Change",
    "Effectiveness",
    "ExpectedEffect",
    "Funnel",
    "FunnelLimits",
    "GammaPrior",
    "Predictive",
    "RateRatio",
    "ShopSpread",
    "Shrunken",
    "Spell",
    "Window",
    "change",
    "effectiveness",
    "expected_effects",
    "funnel",
    "mean_cost",
    "outlook",
    "rate",
    "rate_p",
    "rate_ratio",
    "shrink",
    "spell",
    "yearly_returns",
]
