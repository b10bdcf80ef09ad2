"""What lives are worth knowing for: when to renew, and which repair or purchase costs least."""

from turnwell.life.decide.age_replacement import AgeReplacement, age_replacement
from turnwell.life.decide.comparison import Comparison, compare
from turnwell.life.decide.renewal import (
    Renewal,
    minimal_repair_interval,
    renewal_age,
    run_to_failure_cost,
)
from turnwell.life.decide.worth import Option, Worth, worth_of

__all__ = [
    "AgeReplacement",
    "Comparison",
    "Option",
    "Renewal",
    "Worth",
    "age_replacement",
    "compare",
    "minimal_repair_interval",
    "renewal_age",
    "run_to_failure_cost",
    "worth_of",
]
