"""Writes of the shop's own models."""

from dataclasses import dataclass
from math import isfinite

from django.db import IntegrityError, transaction

from turnwell.catalogue import load
from turnwell.errors import InputError
from turnwell.web.accounts.models import User
from turnwell.web.evidence.models import StoredFile
from turnwell.web.handpieces.models import HandpieceModel, Lubricated
from turnwell.web.handpieces.queries import BearingFigures
from turnwell.web.shared.access import require_shop
from turnwell.web.shared.rows import refuse_bad_fields, refuse_if_changed

__all__ = ["MODEL_FIELDS", "ModelDetails", "add_model", "edit_model"]

NOT_OF_THE_SHOP = "only people of the shop change models"

MODEL_FIELDS = (
    "name",
    "class_key",
    "label_speed_rpm",
    "label_pressure_kpa",
    "motor_turns_per_bur_turn",
    "bearing_balls",
    "bearing_ball_mm",
    "bearing_pitch_mm",
    "bearing_contact_deg",
    "blades",
    "lubricated",
    "lubricant_place",
    "oil_when",
    "has_spray",
    "has_light",
    "instructions",
    "instructions_file",
    "is_retired",
)
# Name for messages, unit, lowest and highest that is taken for a real one.
RANGES = {
    "label_speed_rpm": ("label speed", "rpm", 100.0, 600_000.0),
    "label_pressure_kpa": ("label pressure", "kPa", 20.0, 1000.0),
    "motor_turns_per_bur_turn": ("ratio", "", 0.001, 1000.0),
    "bearing_balls": ("number of balls", "", 3.0, 30.0),
    "bearing_ball_mm": ("ball diameter", "mm", 0.2, 10.0),
    "bearing_pitch_mm": ("pitch diameter", "mm", 0.5, 50.0),
    "bearing_contact_deg": ("contact angle", "°", 0.0, 45.0),
    "blades": ("number of blades", "", 1.0, 60.0),
}


@dataclass(frozen=True, slots=True)
class ModelDetails:
    """What the shop knows of a model from its label and its instructions.

    Parameters
    ----------
    label_speed_rpm : float or None
        Speed of the bur, as the label states it, 100 to 600,000.
    label_pressure_kpa : float or None
        Drive pressure at the handpiece, 20 to 1000.
    motor_turns_per_bur_turn : float or None
        8 for 8:1, 0.2 for 1:5.
    bearing_balls, bearing_ball_mm, bearing_pitch_mm, bearing_contact_deg : number or None
        Geometry of the bearing, if known.
    lubricated : str
        One of `Lubricated`; `lubricant_place` names the hole or nozzle.
    """

    name: str
    class_key: str
    label_speed_rpm: float | None = None
    label_pressure_kpa: float | None = None
    motor_turns_per_bur_turn: float | None = None
    bearing_balls: int | None = None
    bearing_ball_mm: float | None = None
    bearing_pitch_mm: float | None = None
    bearing_contact_deg: float | None = None
    blades: int | None = None
    lubricated: str = Lubricated.NOT_KNOWN
    lubricant_place: str = ""
    oil_when: str = HandpieceModel.OilWhen.NOT_KNOWN
    has_spray: bool = True
    has_light: bool = True
    instructions: str = ""
    instructions_file: StoredFile | None = None
    is_retired: bool = False


@transaction.atomic
def add_model(*, by: User, details: ModelDetails) -> HandpieceModel:
    """Put a model in the shop's own list.

    Raises
    ------
    NotAllowedError
        If the person is not of the shop.
    InputError
        If the name is taken, or a value is out of range or at odds with the class.
    """
    require_shop(by, NOT_OF_THE_SHOP)
    return _save(HandpieceModel(), details)


@transaction.atomic
def edit_model(
    *, by: User, model: HandpieceModel, details: ModelDetails, seen: str | None = None
) -> HandpieceModel:
    """Change what the shop knows of a model.

    Parameters
    ----------
    seen : str or None
        What the page showed (`snapshot_of` its `MODEL_FIELDS`).

    Raises
    ------
    NotAllowedError, InputError
        As for `add_model`; the class of a model that handpieces are of stays.
    ChangedMeanwhileError
        If it was changed after the page was made.
    """
    require_shop(by, NOT_OF_THE_SHOP)
    row = HandpieceModel.objects.select_for_update().get(pk=model.pk)
    refuse_if_changed(row, MODEL_FIELDS, seen)
    count = row.handpieces.count()
    if details.class_key != row.class_key and count:
        raise InputError(
            f"{count} handpieces in the book are of {row}, so its class stays; "
            "make a new model for the other class"
        )
    return _save(row, details)


def _save(row: HandpieceModel, details: ModelDetails) -> HandpieceModel:
    name = " ".join(details.name.split())
    if not name:
        raise InputError("a model needs a name")
    others = HandpieceModel.objects.exclude(pk=row.pk).values_list("name", flat=True)
    taken = next((other for other in others if other.casefold() == name.casefold()), None)
    if taken is not None:
        raise InputError(f"there is already a model called {taken}; open that one")
    _check_ranges(details)
    _check_gear(details)
    _check_bearing(details)
    for field in MODEL_FIELDS:
        setattr(row, field, getattr(details, field))
    row.name = name
    if details.lubricated != Lubricated.YES:
        row.lubricant_place, row.oil_when = "", HandpieceModel.OilWhen.NOT_KNOWN
    refuse_bad_fields(row)
    try:
        with transaction.atomic():
            row.save()
    except IntegrityError as error:
        raise InputError(f"a model called {name} was added a moment ago; open that one") from error
    return row


def _check_ranges(details: ModelDetails) -> None:
    for field, (what, unit, lowest, highest) in RANGES.items():
        value = getattr(details, field)
        if value is not None and not (isfinite(value) and lowest <= value <= highest):
            raise InputError(
                f"{what} {value:,g} {unit}".rstrip()
                + f" is out of range; {lowest:,g} to {highest:,g} {unit}".rstrip()
                + ", or leave it empty"
            )


def _check_gear(details: ModelDetails) -> None:
    if details.class_key not in load().classes:
        raise InputError(f"handpiece class {details.class_key!r} is not in the catalogue")
    ratio = details.motor_turns_per_bur_turn
    if ratio is None:
        return
    if details.class_key == "contra_angle_reducing" and ratio <= 1.0:
        raise InputError("a gear-reducing contra-angle has a ratio above 1:1, such as 8:1")
    if details.class_key == "contra_angle_increasing" and ratio >= 1.0:
        raise InputError("a speed-increasing contra-angle has a ratio below 1:1, such as 1:5")


def _check_bearing(details: ModelDetails) -> None:
    balls, ball, pitch = details.bearing_balls, details.bearing_ball_mm, details.bearing_pitch_mm
    if ball is None or pitch is None:
        return
    if ball >= pitch:
        raise InputError(
            f"a ball of {ball:g} mm does not fit a pitch diameter of {pitch:g} mm; check both"
        )
    if balls is not None and not BearingFigures(balls, ball, pitch, 0.0).fits:
        raise InputError(
            f"{balls} balls of {ball:g} mm do not fit beside one another on a pitch diameter of "
            f"{pitch:g} mm; check the number and both diameters"
        )
