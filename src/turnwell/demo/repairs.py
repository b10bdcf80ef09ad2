"""What the invented shop repairs a fault with, and what it asks for it."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from turnwell.web.jobs.models import OptionKind

__all__ = ["ADJUSTING", "LABOUR", "RENEWING", "Repair", "repair_of", "warranty_months"]


@dataclass(frozen=True, slots=True)
class Repair:
    """One way to repair: what is offered, the part that goes in, its price and that of the work."""

    kind: OptionKind
    part: str
    parts_price: Decimal
    labour_price: Decimal


LABOUR = Decimal("65.00")
ADJUSTING = Repair(OptionKind.ADJUST, "Lubricant", Decimal("0.00"), Decimal("35.00"))
RENEWING = Repair(OptionKind.REPLACE, "New handpiece", Decimal("640.00"), Decimal("0.00"))
USUAL = Repair(OptionKind.BEARINGS, "Pair of bearings", Decimal("54.00"), LABOUR)
CARTRIDGE = Repair(OptionKind.CARTRIDGE, "Cartridge", Decimal("118.00"), LABOUR)
REPAIRS: Mapping[str, Repair] = {
    "chuck_worn_or_sterilized_open": Repair(
        OptionKind.CHUCK_SEALS, "Chuck and spindle", Decimal("62.00"), LABOUR
    ),
    "seals_hardened": Repair(OptionKind.CHUCK_SEALS, "Set of O-rings", Decimal("9.50"), LABOUR),
    "exhaust_restricted": Repair(OptionKind.ADJUST, "Hose gasket", Decimal("4.00"), LABOUR),
    "spray_blocked": Repair(OptionKind.ADJUST, "Water tube seal", Decimal("3.00"), LABOUR),
    "light_failed": Repair(OptionKind.ADJUST, "Lamp", Decimal("28.00"), LABOUR),
    "worn_out": CARTRIDGE,
    "moisture_corrosion": CARTRIDGE,
    "debris_baked_in": CARTRIDGE,
}
WARRANTY_MONTHS: Mapping[OptionKind, int] = {
    OptionKind.ADJUST: 0,
    OptionKind.BEARINGS: 6,
    OptionKind.CHUCK_SEALS: 6,
    OptionKind.CARTRIDGE: 12,
    OptionKind.REPLACE: 12,
}


def repair_of(cause: str) -> Repair:
    """Give what a cause is repaired with; most get a pair of bearings."""
    return REPAIRS.get(cause, USUAL)


def warranty_months(kind: OptionKind) -> int:
    """Give for how long the shop stands by a repair of this kind."""
    return WARRANTY_MONTHS[kind]
