"""Writes of handpieces, models and the shop's own limits."""

from turnwell.web.handpieces.actions.handpieces import (
    HANDPIECE_FIELDS,
    HandpieceDetails,
    SerialTakenError,
    add_handpiece,
    edit_handpiece,
    put_back_in_use,
    retire_handpiece,
)
from turnwell.web.handpieces.actions.limits import override_limit, take_back_limit
from turnwell.web.handpieces.actions.models import (
    MODEL_FIELDS,
    ModelDetails,
    add_model,
    edit_model,
)

__all__ = [
    "HANDPIECE_FIELDS",
    "MODEL_FIELDS",
    "HandpieceDetails",
    "ModelDetails",
    "SerialTakenError",
    "add_handpiece",
    "add_model",
    "edit_handpiece",
    "edit_model",
    "override_limit",
    "put_back_in_use",
    "retire_handpiece",
    "take_back_limit",
]
