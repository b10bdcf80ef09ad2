"""Writes of what the columns of a sterilizer's records are."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils import timezone

from turnwell.web.accounts.models import User
from turnwell.web.shared.access import require_shop
from turnwell.web.sterilizers.actions.sterilizers import NOT_OF_THE_SHOP
from turnwell.web.sterilizers.models import IntakeFile, Sterilizer

__all__ = ["confirm_layout", "forget_layout"]


@transaction.atomic
def confirm_layout(
    *,
    by: User,
    sterilizer: Sterilizer,
    layout: Mapping[str, Any],
    at: datetime | None = None,
) -> int:
    """Keep what the columns are, and let every file that asked be read by it; give how many.

    Parameters
    ----------
    layout : mapping
        As the steam core's layout writes itself down; it was made by `layout_of`, which refuses
        what makes no sense.

    Raises
    ------
    NotAllowedError
        If the person is not of the shop.
    """
    require_shop(by, NOT_OF_THE_SHOP)
    row = Sterilizer.objects.select_for_update(of=("self",)).get(pk=sterilizer.pk)
    row.layout = dict(layout)
    row.layout_confirmed_at = at or timezone.now()
    row.layout_confirmed_by = by
    row.save(update_fields=["layout", "layout_confirmed_at", "layout_confirmed_by"])
    asking = IntakeFile.objects.filter(intake__sterilizer=row, state=IntakeFile.State.ASKS)
    return asking.update(state=IntakeFile.State.WAITING, since=row.layout_confirmed_at, says="")


@transaction.atomic
def forget_layout(*, by: User, sterilizer: Sterilizer) -> None:
    """Forget what was confirmed; the next record is looked at anew.

    Raises
    ------
    NotAllowedError
        If the person is not of the shop.
    """
    require_shop(by, NOT_OF_THE_SHOP)
    Sterilizer.objects.filter(pk=sterilizer.pk).update(
        layout=None, layout_confirmed_at=None, layout_confirmed_by=None
    )
