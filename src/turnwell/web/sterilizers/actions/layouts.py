"""Writes of what the columns of a sterilizer's records are."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils import timezone

from turnwell.errors import InputError
from turnwell.web.accounts.models import User
from turnwell.web.evidence.models import StoredFile
from turnwell.web.shared.access import require_shop
from turnwell.web.sterilizers.actions.sterilizers import NOT_OF_THE_SHOP
from turnwell.web.sterilizers.analysis.reading import Asks, review_file
from turnwell.web.sterilizers.models import ConfirmedLayout, IntakeFile, Sterilizer

__all__ = ["Freed", "confirm_layout", "forget_layout"]


@dataclass(frozen=True, slots=True)
class Freed:
    """What became of the files that asked.

    Parameters
    ----------
    read : int
        Of the shape that was confirmed: they wait to be read now.
    asking : int
        Of other shapes: they go on asking.
    """

    read: int
    asking: int


def confirm_layout(
    *,
    by: User,
    sterilizer: Sterilizer,
    layout: Mapping[str, Any],
    tried_on: StoredFile,
    at: datetime | None = None,
) -> Freed:
    """Keep what the columns of one shape are, and let the files of it that asked be read.

    What was confirmed for files of other shapes stays.

    Parameters
    ----------
    layout : mapping
        As the steam core's layout writes itself down.
    tried_on : StoredFile
        A record that must be read by it before it is remembered.

    Raises
    ------
    NotAllowedError
        If the person is not of the shop.
    InputError
        If the file cannot be read by it.
    """
    require_shop(by, NOT_OF_THE_SHOP)
    read = review_file(tried_on, sterilizer, layouts=[layout], plan=None)
    if isinstance(read, Asks):
        raise InputError(f"by these columns the file still cannot be read: {read.why}")
    return _remember(by, sterilizer, dict(layout), at or timezone.now())


@transaction.atomic
def _remember(by: User, sterilizer: Sterilizer, layout: dict[str, Any], at: datetime) -> Freed:
    """Write the layout and free the files of its shape that asked."""
    signature = str(layout.get("signature", ""))
    ConfirmedLayout.objects.update_or_create(
        sterilizer=sterilizer,
        signature=signature,
        defaults={"layout": layout, "confirmed_at": at, "confirmed_by": by},
    )
    asking = IntakeFile.objects.filter(intake__sterilizer=sterilizer, state=IntakeFile.State.ASKS)
    same = [
        pk
        for pk, proposal in asking.values_list("pk", "proposal")
        if (proposal or {}).get("layout", {}).get("signature", "") == signature
    ]
    IntakeFile.objects.filter(pk__in=same).update(state=IntakeFile.State.WAITING, since=at, says="")
    return Freed(read=len(same), asking=asking.count())


@transaction.atomic
def forget_layout(*, by: User, sterilizer: Sterilizer) -> None:
    """Forget what was confirmed; the next record is looked at anew, those read stay readable.

    Raises
    ------
    NotAllowedError
        If the person is not of the shop.
    """
    require_shop(by, NOT_OF_THE_SHOP)
    sterilizer.layouts.all().delete()
