"""Reads of handpieces that several views need."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import pi
from typing import TYPE_CHECKING, Self

from django.db import models

from turnwell.catalogue import load
from turnwell.measure import Limit

if TYPE_CHECKING:
    from turnwell.web.accounts.models import User
    from turnwell.web.handpieces.models import Handpiece, HandpieceModel

__all__ = ["BearingFigures", "HandpieceQuerySet", "SoundFacts", "facts_for_sound", "limits_for"]


class HandpieceQuerySet(models.QuerySet["Handpiece"]):
    """Handpieces as a person may see them."""

    def visible_to(self, user: "User") -> Self:
        """Keep the handpieces this person may see."""
        return self if user.is_shop else self.filter(office_id=user.office_id)

    def with_place(self) -> Self:
        """Fetch model, office and chair along with each handpiece."""
        return self.select_related("model", "office", "chair")


@dataclass(frozen=True, slots=True)
class BearingFigures:
    """What is known of a ball bearing, enough to tell where its lines are heard."""

    balls: int
    ball_mm: float
    pitch_mm: float
    contact_deg: float

    @property
    def fits(self) -> bool:
        """True where the balls are smaller than their circle and fit on it beside one another."""
        has_room = self.balls * self.ball_mm < pi * self.pitch_mm
        return self.ball_mm < self.pitch_mm and has_room


@dataclass(frozen=True, slots=True)
class SoundFacts:
    """What is known of a handpiece before it is listened to; plain values.

    Parameters
    ----------
    class_key : str
        Key of its class.
    class_speed_range_rpm : tuple of two floats or None
        Usual speeds of the class, None for what does not turn.
    label_speed_rpm, label_pressure_kpa : float or None
        As the model's label states them; the speed is the bur's.
    ratio : float or None
        Motor turns for one turn of the bur; None where neither the model nor its class says.
    speed_limit : Limit or None
        What the bur's speed is held against.
    bearing : BearingFigures or None
        Of the spindle that carries the bur; None where the model does not give them all.
    """

    class_key: str
    class_speed_range_rpm: tuple[float, float] | None
    label_speed_rpm: float | None
    label_pressure_kpa: float | None
    ratio: float | None
    speed_limit: Limit | None
    bearing: BearingFigures | None = None


def facts_for_sound(handpiece: "Handpiece") -> SoundFacts:
    """Give what is known of a handpiece before it is listened to."""
    model = handpiece.model
    kind = load().classes.get(handpiece.class_key)
    ratio = model.motor_turns_per_bur_turn if model else None
    if ratio is None and kind is not None:
        ratio = kind.motor_turns_per_bur_turn
    return SoundFacts(
        class_key=handpiece.class_key,
        class_speed_range_rpm=kind.speed_range_rpm if kind else None,
        label_speed_rpm=model.label_speed_rpm if model else None,
        label_pressure_kpa=model.label_pressure_kpa if model else None,
        ratio=ratio,
        speed_limit=limits_for(handpiece).get("free_running_speed"),
        bearing=None if model is None else _bearing_of(model),
    )


def _bearing_of(model: "HandpieceModel") -> BearingFigures | None:
    """Give the bearing of a model where all of it is known; a contact angle left out is 0."""
    balls, ball_mm, pitch_mm = (model.bearing_balls, model.bearing_ball_mm, model.bearing_pitch_mm)
    if balls is None or ball_mm is None or pitch_mm is None:
        return None
    figures = BearingFigures(balls, ball_mm, pitch_mm, model.bearing_contact_deg or 0.0)
    # Rows typed in before this was refused must not stop their recordings from being heard.
    return figures if figures.fits else None


def limits_for(handpiece: "Handpiece") -> Mapping[str, Limit]:
    """Give what a handpiece's readings are held against, by reading key."""
    # The models import this module for their querysets.
    from turnwell.web.handpieces import limits

    return limits.limits_for(handpiece)
