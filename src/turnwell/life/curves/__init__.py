"""Curves of a first event: running on, compared between groups, and by cause."""

from turnwell.life.curves.product_limit import SurvivalCurve, product_limit

__all__ = ["SurvivalCurve", "product_limit"]
