"""Writes of the shop's own limits: entries, so that every change stays on record."""

from datetime import datetime
from math import isfinite

from django.db import transaction
from django.utils import timezone

from turnwell.errors import ChangedMeanwhileError, InputError
from turnwell.web.accounts.models import User
from turnwell.web.handpieces.limits import unit_of
from turnwell.web.handpieces.models import HandpieceModel, LimitOverride
from turnwell.web.shared.access import require_shop
from turnwell.web.shared.entries import taking_back
from turnwell.web.shared.rows import refuse_bad_fields

__all__ = ["override_limit", "take_back_limit"]

NOT_OF_THE_SHOP = "only people of the shop change limits"


@transaction.atomic
def override_limit(
    *,
    by: User,
    reading_key: str,
    low: float | None,
    high: float | None,
    reason: str,
    class_key: str = "",
    model: HandpieceModel | None = None,
    at: datetime | None = None,
) -> LimitOverride:
    """Set a limit of the shop's own in place of the catalogue's, for a class or for one model.

    Parameters
    ----------
    reading_key : str
        A reading that the catalogue holds against limits.
    low, high : float or None
        In the unit of `unit_of` the reading; one may stay open. For a limit that follows the label,
        percent of the label speed off it: -10 and 10.
    reason : str
        Why, for whoever reads it later.
    class_key, model
        Exactly one of them.

    Raises
    ------
    NotAllowedError
        If the person is not of the shop.
    InputError
        If the reading is not known, no side is given, low is above high, or the reason is empty.
    """
    require_shop(by, NOT_OF_THE_SHOP)
    if (model is None) == (not class_key):
        raise InputError("a limit of the shop's own is for one class or for one model")
    if not reason.strip():
        raise InputError("say why the limit is another than the catalogue's")
    unit = unit_of(model.class_key if model else class_key, reading_key)
    _check_sides(low, high, unit)
    if model is not None:
        HandpieceModel.objects.select_for_update().get(pk=model.pk)
    before = standing_override(reading_key, class_key=class_key, model=model)
    override = LimitOverride(
        entered_by=by,
        entered_at=at or timezone.now(),
        corrects=before,
        correction_reason=reason.strip() if before else "",
        class_key=class_key,
        model=model,
        reading_key=reading_key,
        low=low,
        high=high,
        unit=unit,
        reason=reason.strip(),
    )
    refuse_bad_fields(override)
    override.save()
    return override


@transaction.atomic
def take_back_limit(
    *, by: User, override: LimitOverride, reason: str, at: datetime | None = None
) -> LimitOverride:
    """Take back a limit of the shop's own; the one behind it holds again.

    Raises
    ------
    NotAllowedError
        If the person is not of the shop.
    InputError
        If there is no reason.
    ChangedMeanwhileError
        If it does not stand any more.
    """
    require_shop(by, NOT_OF_THE_SHOP)
    if not reason.strip():
        raise InputError("say why the limit is taken back")
    if override.is_taken_back or LimitOverride.objects.filter(corrects=override).exists():
        raise ChangedMeanwhileError("this limit was changed already; open the page again")
    taken_back = taking_back(override, by=by, reason=reason, at=at)
    refuse_bad_fields(taken_back)
    taken_back.save()
    return taken_back


def standing_override(
    reading_key: str, *, class_key: str, model: HandpieceModel | None
) -> LimitOverride | None:
    """Give the own limit that holds for this class or model, if any."""
    return (
        LimitOverride.objects.filter(class_key=class_key, model=model, reading_key=reading_key)
        .standing()
        .order_by("-entered_at", "-pk")
        .first()
    )


def _check_sides(low: float | None, high: float | None, unit: str) -> None:
    if low is None and high is None:
        raise InputError("a limit needs a low side, a high side or both")
    for side, value in (("low", low), ("high", high)):
        if value is not None and not isfinite(value):
            raise InputError(f"the {side} side of the limit must be a number")
        if value is not None and value < 0 and not unit.startswith("%"):
            raise InputError(f"the {side} side is {value:g} {unit}, must not be below 0")
    if low is not None and high is not None and low > high:
        raise InputError(f"the low side {low:g} is above the high side {high:g}; swap them")
