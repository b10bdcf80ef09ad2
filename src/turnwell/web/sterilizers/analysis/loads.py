"""The load of a run in plain values, and how long a damp pouch of it goes on rusting."""

from collections.abc import Mapping
from typing import Any

from turnwell.measure import Reading
from turnwell.web.sterilizers.models import Load, Sterilizer
from turnwell.words import Message

__all__ = ["counter_wetness", "load_values"]


def load_values(load: Load, sterilizer: Sterilizer) -> dict[str, Any]:
    """Give a load as JSON values: each kind of thing with its mass and heat capacity."""
    return {
        "counts": dict(load.counts),
        "pouches": load.pouches,
        "trays": load.trays,
        "water_before_g": load.water_before_g,
    }


def counter_wetness(
    review: Mapping[str, Any], load: Load | None, left: Reading | None
) -> Message | None:
    """Say how long a damp pouch of the load stays wet on a counter; None where not known."""
    return None
