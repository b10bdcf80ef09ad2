"""What a handpiece's readings are held against.

In order of weight: the shop's own limit for the model, the shop's own for the class, what the
model's label says, the catalogue's default for the class.
"""

from collections.abc import Iterable, Mapping

from django.db.models import Q

from turnwell.catalogue import load
from turnwell.errors import InputError
from turnwell.measure import Basis, Limit
from turnwell.web.handpieces.models import Handpiece, HandpieceModel, LimitOverride

__all__ = ["OF_LABEL", "limits_for", "limits_of", "own_limit", "unit_of", "units_of_class"]

# Unit of an own limit that follows the label speed: percent off it.
OF_LABEL = "% of label"
# Readings without a default for any class; a shop may still set its own.
FURTHER_UNITS = {
    "coast_down_time": "s",
    "coast_down_half_time": "s",
    "start_pressure": "kPa",
}


def limits_for(handpiece: Handpiece) -> Mapping[str, Limit]:
    """Give what a handpiece's readings are held against, by reading key.

    Each limit is in the unit of its reading: speeds in rpm, pressures in kPa, lengths in mm.
    """
    return limits_of(handpiece.class_key, handpiece.model)


def limits_of(class_key: str, model: HandpieceModel | None) -> Mapping[str, Limit]:
    """Give what the readings of a class, or of one model of it, are held against.

    Parameters
    ----------
    class_key : str
        A class of the catalogue; one that is gone from it has no defaults.
    model : HandpieceModel or None
        With its label, and its own limits.
    """
    label_rpm = model.label_speed_rpm if model else None
    limits: dict[str, Limit] = {}
    if class_key in load().classes:
        limits |= load().limits_for(class_key)
        limits |= _from_label(class_key, model)
    for override in _standing(class_key, model):
        own = own_limit(override, label_rpm)
        if own is not None:
            limits[override.reading_key] = own
    return limits


def own_limit(override: LimitOverride, label_speed_rpm: float | None) -> Limit | None:
    """Give the limit that an own one makes; None where it follows a label that is not on file."""
    low, high = override.low, override.high
    if override.unit == OF_LABEL:
        if label_speed_rpm is None:
            return None
        low = None if low is None else label_speed_rpm * (1.0 + low / 100.0)
        high = None if high is None else label_speed_rpm * (1.0 + high / 100.0)
    whose = str(override.model) if override.model_id else "this class"
    source = f"own limit for {whose}, {override.entered_at:%Y-%m-%d}: {override.reason}"
    return Limit(low, high, source, Basis.OWN)


def units_of_class(class_key: str) -> Mapping[str, str]:
    """Give the readings of a class that a limit can be set for, each with its unit.

    Raises
    ------
    InputError
        If the class is not in the catalogue.

    Examples
    --------
    >>> units_of_class("air_turbine_4_hole")["run_out"]
    'mm'
    """
    catalogue = load()
    kind = catalogue.handpiece_class(class_key)
    found = {row.reading_key: row.unit for row in kind.limits}
    for other in catalogue.classes.values():
        for row in other.limits:
            found.setdefault(row.reading_key, row.unit)
    if not kind.has_chuck:
        for key in ("chuck_extraction_force", "run_out"):
            found.pop(key, None)
    relative = {row.reading_key: OF_LABEL for row in kind.relative_limits}
    return relative | found | FURTHER_UNITS


def unit_of(class_key: str, reading_key: str) -> str:
    """Give the unit in which a limit of this reading is kept.

    Raises
    ------
    InputError
        If the class has no such reading.
    """
    found = units_of_class(class_key)
    if reading_key not in found:
        raise InputError(
            f"{reading_key!r} is no reading of this class; one of {', '.join(sorted(found))}"
        )
    return found[reading_key]


def _from_label(class_key: str, model: HandpieceModel | None) -> dict[str, Limit]:
    """Give the limits that the model's label makes."""
    if model is None:
        return {}
    catalogue = load()
    limits: dict[str, Limit] = {}
    if model.label_speed_rpm is not None:
        for key, relative in catalogue.relative_limits_for(class_key).items():
            limits[key] = catalogue.limit_from_label(relative, model.label_speed_rpm)
    if model.label_pressure_kpa is not None and "drive_air_pressure" in catalogue.limits_for(
        class_key
    ):
        # The label rules: a typical range of the class says nothing about this model.
        limits["drive_air_pressure"] = Limit(
            None, model.label_pressure_kpa, f"label pressure of {model}", Basis.OWN
        )
    return limits


def _standing(class_key: str, model: HandpieceModel | None) -> Iterable[LimitOverride]:
    """Give the own limits that hold, those of the model last."""
    whose = Q(model__isnull=True, class_key=class_key)
    if model is not None:
        whose |= Q(model=model)
    rows = LimitOverride.objects.standing().filter(whose).select_related("model")
    return sorted(rows, key=lambda row: (row.model_id is not None, row.entered_at, row.pk))
