"""What the next months bring: returns, returns under warranty and their cost, parts to hold."""

from turnwell.life.forecast.coming_returns import (
    ComingReturns,
    coming_from_growth,
    coming_returns,
)
from turnwell.life.forecast.stock import Demand, StockLevel, expected_back_orders, stock_level
from turnwell.life.forecast.warranty import (
    ReturnCost,
    UnderWarranty,
    WarrantyForecast,
    warranty_forecast,
)

__all__ = [
    "ComingReturns",
    "Demand",
    "ReturnCost",
    "StockLevel",
    "UnderWarranty",
    "WarrantyForecast",
    "coming_from_growth",
    "coming_returns",
    "expected_back_orders",
    "stock_level",
    "warranty_forecast",
]
