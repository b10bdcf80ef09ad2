"""The shop's lives and returns as plain arrays, made of its records in one place.

Ask `shop_records(now)`; all else hangs on what it gives.
"""

from turnwell.web.lives.records.histories import ShopHistories
from turnwell.web.lives.records.keeping import shop_records
from turnwell.web.lives.records.lives import ShopLives
from turnwell.web.lives.records.moments import DAY_S, YEAR_DAYS, day_start_s
from turnwell.web.lives.records.paces import Pace
from turnwell.web.lives.records.shop import ShopRecords
from turnwell.web.lives.records.stretches import Returns, Stretches
from turnwell.web.lives.records.tables import KINDS, REASONS, STAGES, UNKNOWN
from turnwell.web.lives.records.tallies import Tallies
from turnwell.web.lives.records.warranties import Warranties

__all__ = [
    "DAY_S",
    "KINDS",
    "REASONS",
    "STAGES",
    "UNKNOWN",
    "YEAR_DAYS",
    "Pace",
    "Returns",
    "ShopHistories",
    "ShopLives",
    "ShopRecords",
    "Stretches",
    "Tallies",
    "Warranties",
    "day_start_s",
    "shop_records",
]
