"""A load as it goes into the sterilizer: what it weighs, what heat it takes, how wet it was."""

from dataclasses import dataclass
from math import isfinite

from turnwell.errors import InputError

__all__ = ["Load", "LoadItem"]

# Metals within ± 4 % of their table value, paper within ± 15 %; one figure for a mixed load.
HEAT_CAPACITY_PART = 0.05
MOST_PIECES = 500


@dataclass(frozen=True, slots=True)
class LoadItem:
    """Pieces of one kind.

    Parameters
    ----------
    name : str
    count : int
        Pieces, 0 to 500.
    mass_g : float
        Of one piece, > 0.
    heat_capacity_j_gk : float
        Of its material, J/(g K), > 0.
    is_metal : bool
        Whether the allowed rest of water is counted on it.
    """

    name: str
    count: int
    mass_g: float
    heat_capacity_j_gk: float
    is_metal: bool = True

    def __post_init__(self) -> None:
        if not 0 <= self.count <= MOST_PIECES:
            raise InputError(f"{self.name}: {self.count} pieces; give 0 to {MOST_PIECES}")
        for what, value in (("mass", self.mass_g), ("heat capacity", self.heat_capacity_j_gk)):
            if not isfinite(value) or value <= 0.0:
                raise InputError(f"the {what} of {self.name} is {value:g}, must be above 0")

    @property
    def heat_j_k(self) -> float:
        """Heat that warms all pieces by one kelvin."""
        return self.count * self.mass_g * self.heat_capacity_j_gk


@dataclass(frozen=True, slots=True)
class Load:
    """What went into the sterilizer together.

    Parameters
    ----------
    items : tuple of LoadItem
        Handpieces by class, pouches, trays; some pieces in all.
    pouches : int
        Pouches among them: each takes up heat from the wall on its own face.
    water_before_g : float or None
        Water left in and on the load before the cycle; None where nobody weighed or said it.

    Raises
    ------
    InputError
        If nothing is in the load, or the water is no number of grams.
    """

    items: tuple[LoadItem, ...]
    pouches: int = 0
    water_before_g: float | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "items", tuple(self.items))
        if not any(item.count for item in self.items):
            raise InputError("the load is empty; give the count of one thing in it at least")
        if not 0 <= self.pouches <= MOST_PIECES:
            raise InputError(f"{self.pouches} pouches; give 0 to {MOST_PIECES}")
        water = self.water_before_g
        if water is not None and (not isfinite(water) or not 0.0 <= water <= 2000.0):
            raise InputError(f"the water left before is {water:g} g; give 0 to 2000")

    @property
    def heat_j_k(self) -> float:
        """Heat that warms the load by one kelvin, its water left out."""
        return sum(item.heat_j_k for item in self.items)

    @property
    def metal_g(self) -> float:
        """Mass of its metal."""
        return sum(item.count * item.mass_g for item in self.items if item.is_metal)
