"""The water balance of a load: what condenses on it, what the drying can take off, what is left."""

from dataclasses import dataclass
from typing import Any

from turnwell.measure import Reading
from turnwell.words import Message, text_of

__all__ = ["Lever", "WaterBalance"]


@dataclass(frozen=True, slots=True)
class Lever:
    """One thing the office could change, and how much less water it would leave.

    Parameters
    ----------
    key : str
        ``"vacuum"``, ``"time"``, ``"load"`` or ``"dry_before"``.
    change : Message
        What to change, with its figures.
    saved_g, low_g, high_g : float
        Grams less left over, with the ends of the 95 % interval.
    """

    key: str
    change: Message
    saved_g: float
    low_g: float
    high_g: float

    def as_dict(self, language: str = "en") -> dict[str, Any]:
        """Give the lever as JSON values."""
        return {
            "key": self.key,
            "change": text_of(self.change, language),
            "saved_g": self.saved_g,
            "low_g": self.low_g,
            "high_g": self.high_g,
        }


@dataclass(frozen=True, slots=True)
class WaterBalance:
    """What became of the water of one load.

    Parameters
    ----------
    condensate, left : Reading
        Grams, keys ``condensate_g`` and ``water_left_g``; "cannot tell" where a thing is not known.
    levers : tuple of Lever
        The most useful first; empty where `left` cannot be told.
    """

    condensate: Reading
    left: Reading
    levers: tuple[Lever, ...] = ()

    def as_dict(self, language: str = "en") -> dict[str, Any]:
        """Give the balance as JSON values."""
        return {
            "condensate": self.condensate.as_dict(language),
            "left": self.left.as_dict(language),
            "levers": [lever.as_dict(language) for lever in self.levers],
        }
