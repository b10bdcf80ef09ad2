"""Lives and returns of repaired things: how long they last, why they come back, what it is worth.

Ages are in care cycles where they are counted, in days else; the clock goes with every result.
"""

from turnwell.life.estimate import Estimate
from turnwell.life.lives import NO_CAUSE, Clock, Histories, Lives
from turnwell.life.version import LIFE_VERSION

__all__ = ["LIFE_VERSION", "NO_CAUSE", "Clock", "Estimate", "Histories", "Lives"]
