"""Estimates of the core as the pictures take them."""

from turnwell.life import Estimate
from turnwell.pictures import Estimated

__all__ = ["estimated"]


def estimated(found: Estimate) -> Estimated:
    """Give an estimate, both ends finite, for a picture."""
    return Estimated(found.value, found.low, found.high)
