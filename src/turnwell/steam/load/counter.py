"""How long a pouch that came out damp keeps what is in it wet: exposure to corrosion, never drying.

A damp pouch is not accepted, however long it lies. The inside of a lumen does not dry on a counter
at all: what leaves it has to diffuse through its length.

References
----------
[INCROPERA2007], chapter 6 (analogy of heat and mass transfer) and 14 (Stefan's diffusion through a
column of still gas). [ASHRAE2017]: gas constants. [RADHAKRISHNAN2000] and common practice for the
range of a paper's permeance: no readable value for sterilization paper was found, so that hours
are good to a factor of about 3 until a pouch is weighed while it dries.
"""

from dataclasses import dataclass
from math import log, pi
from typing import Any

from turnwell.errors import InputError
from turnwell.measure import Interval, Reading, reading
from turnwell.steam.humid_air import RoomAir
from turnwell.steam.water import saturation_pressure_kpa
from turnwell.units import celsius_to_kelvin
from turnwell.words import Message, text_of

__all__ = ["DampPouch", "Wetness", "lumen_loss_mg_h", "wetness_of"]

# Of the paper: typical, and a range that holds nine papers of ten; common practice, see above.
PERMEANCE_KG_M2SPA = 5e-9
LEAST_PERMEANCE_KG_M2SPA, MOST_PERMEANCE_KG_M2SPA = 2e-9, 1.5e-8
# Still room air over a small face, by the ranges of [INCROPERA2007].
CONVECTION_W_M2K, RADIATION_W_M2K = 4.0, 5.0
# Of water vapour in air: thermal diffusivity over that of the vapour, [INCROPERA2007].
LEWIS = 0.87
# Of water at 20 °C, [IAPWS-IF97].
EVAPORATION_J_KG = 2.45e6
AIR_J_KGK = 1006.0
# Gas constants, [ASHRAE2017].
GAS_OF_AIR_J_KGK, GAS_OF_VAPOUR_J_KGK = 287.05, 461.52
# The wet area shrinks towards the end, which makes it last up to half as long again: an estimate.
END_FACTOR = 1.5
# Water vapour in air at 22 °C, [INCROPERA2007].
DIFFUSIVITY_M2_S = 2.5e-5
HALVINGS = 60
# A drop in a handpiece's air line: common practice.
LUMEN_MG, LUMEN_BORE_MM, LUMEN_DEPTH_MM = 10.0, 1.0, 50.0


@dataclass(frozen=True, slots=True)
class DampPouch:
    """A pouch that came out damp.

    Parameters
    ----------
    water_g : float
        In it, > 0.
    free_m2 : float
        Of its paper that faces the air; film lets all but nothing through, and paper on a bench
        little. 80 % of 90 x 230 mm by default.
    """

    water_g: float
    free_m2: float = 0.01656

    def __post_init__(self) -> None:
        for what, value, high in (("water", self.water_g, 100.0), ("free face", self.free_m2, 1.0)):
            if not 0.0 < value <= high:
                raise InputError(
                    f"the pouch's {what} is {value:g}, must be above 0, at most {high:g}"
                )


@dataclass(frozen=True, slots=True)
class Wetness:
    """Hours for which the steel in a damp pouch stays wet.

    Parameters
    ----------
    hours : Reading
        Key ``wetness_h``; its interval is the range of papers, not a measurement's.
    paper_c : float
        What the paper cools to while it gives off water.
    lumen : Message
        How long water deep in a lumen would take to leave it.
    advice : Message
        What to do with such a pouch: never to wait.
    """

    hours: Reading
    paper_c: float
    lumen: Message
    advice: Message

    def as_dict(self, language: str = "en") -> dict[str, Any]:
        """Give the wetness as JSON values."""
        return {
            "hours": self.hours.as_dict(language),
            "paper_c": self.paper_c,
            "lumen": text_of(self.lumen, language),
            "advice": text_of(self.advice, language),
        }


def wetness_of(pouch: DampPouch, room: RoomAir) -> Wetness:
    """Say how long a damp pouch exposes what is in it to corrosion.

    Steel is taken to be wet above 80 % relative humidity [ISO9223]; a closed pouch with any liquid
    water in it stands near 100 %.

    Parameters
    ----------
    pouch : DampPouch
    room : RoomAir

    Raises
    ------
    InputError
        If the room's air is so humid that nothing evaporates.

    Examples
    --------
    >>> wetness = wetness_of(DampPouch(0.5), RoomAir(22.0, 0.5))
    >>> round(wetness.hours.value, 2), round(wetness.paper_c, 1)
    (1.64, 21.3)
    """
    typical, paper_c = _hours(pouch, room, PERMEANCE_KG_M2SPA)
    shortest, _ = _hours(pouch, room, MOST_PERMEANCE_KG_M2SPA)
    longest, _ = _hours(pouch, room, LEAST_PERMEANCE_KG_M2SPA)
    hours = reading(
        "wetness_h",
        typical,
        shortest,
        END_FACTOR * longest,
        "h",
        interval=Interval.PREDICTIVE,
        level=0.9,
        why=Message("steam_water.wetness"),
    )
    days = LUMEN_MG / lumen_loss_mg_h(LUMEN_BORE_MM, LUMEN_DEPTH_MM, room) / 24.0
    lumen = Message(
        "steam_water.lumen",
        {"water_mg": LUMEN_MG, "depth_mm": LUMEN_DEPTH_MM, "bore_mm": LUMEN_BORE_MM, "days": days},
    )
    return Wetness(hours, paper_c, lumen, Message("steam_water.damp_pouch"))


def _hours(pouch: DampPouch, room: RoomAir, permeance_kg_m2spa: float) -> tuple[float, float]:
    """Give the hours to evaporate the water through a paper, and what the paper cools to."""
    kelvin = celsius_to_kelvin(room.temperature_c)
    density_kg_m3 = 1e3 * room.pressure_kpa / (GAS_OF_AIR_J_KGK * kelvin)
    film_m_s = CONVECTION_W_M2K / (density_kg_m3 * AIR_J_KGK * LEWIS ** (2.0 / 3.0))
    over_all = 1.0 / (1.0 / permeance_kg_m2spa + GAS_OF_VAPOUR_J_KGK * kelvin / film_m_s)

    def flow(paper_c: float) -> float:
        return float(over_all * 1e3 * (saturation_pressure_kpa(paper_c) - room.vapour_kpa))

    low, high = max(room.temperature_c - 20.0, 0.0), room.temperature_c
    for _ in range(HALVINGS):
        paper_c = (low + high) / 2.0
        warmed_w_m2 = 2.0 * (CONVECTION_W_M2K + RADIATION_W_M2K) * (room.temperature_c - paper_c)
        low, high = (
            (low, paper_c) if flow(paper_c) * EVAPORATION_J_KG > warmed_w_m2 else (paper_c, high)
        )
    lost_kg_s = flow(paper_c) * pouch.free_m2
    if lost_kg_s < 1e-12:
        raise InputError(
            f"in air of {room.humidity:.0%} humidity nothing evaporates; the pouch stays wet"
        )
    return pouch.water_g / 1e3 / lost_kg_s / 3600.0, paper_c


def lumen_loss_mg_h(bore_mm: float, depth_mm: float, room: RoomAir) -> float:
    """Water that diffuses out of a lumen in an hour: Stefan's column of still air.

    Parameters
    ----------
    bore_mm : float
        Diameter, > 0.
    depth_mm : float
        From the mouth to the water, > 0.
    room : RoomAir

    Examples
    --------
    >>> round(lumen_loss_mg_h(1.0, 50.0, RoomAir(22.0, 0.5)), 4)
    0.014
    """
    for what, value in (("bore", bore_mm), ("depth", depth_mm)):
        if not 0.0 < value <= 1000.0:
            raise InputError(f"the lumen's {what} is {value:g} mm; give 0 to 1000, not 0")
    kelvin = celsius_to_kelvin(room.temperature_c)
    whole, at_water = room.pressure_kpa, saturation_pressure_kpa(room.temperature_c)
    driven = log((whole - room.vapour_kpa) / (whole - at_water))
    flux = DIFFUSIVITY_M2_S * 1e3 * whole / (GAS_OF_VAPOUR_J_KGK * kelvin * depth_mm / 1e3) * driven
    return flux * pi / 4.0 * (bore_mm / 1e3) ** 2 * 3600.0 * 1e6
