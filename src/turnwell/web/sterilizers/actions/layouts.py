"""Writes of what the columns of a sterilizer's records are."""

from collections.abc import Mapping
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
from turnwell.web.sterilizers.models import IntakeFile, Sterilizer

__all__ = ["confirm_layout", "forget_layout"]


def confirm_layout(
    *,
    by: User,
    sterilizer: Sterilizer,
    layout: Mapping[str, Any],
    tried_on: StoredFile,
    at: datetime | None = None,
) -> int:
    """Keep what the columns are, and let every file that asked be read by it; give how many.

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
    read = review_file(tried_on, sterilizer, layout=layout, plan=None)
    if isinstance(read, Asks):
        raise InputError(f"by these columns the file still cannot be read: {read.why}")
    return _remember(by, sterilizer, layout, at or timezone.now())


@transaction.atomic
def _remember(by: User, sterilizer: Sterilizer, layout: Mapping[str, Any], at: datetime) -> int:
    """Write the layout and free the files that asked; give how many."""
    row = Sterilizer.objects.select_for_update(of=("self",)).get(pk=sterilizer.pk)
    row.layout = dict(layout)
    row.layout_confirmed_at = at
    row.layout_confirmed_by = by
    row.save(update_fields=["layout", "layout_confirmed_at", "layout_confirmed_by"])
    asking = IntakeFile.objects.filter(intake__sterilizer=row, state=IntakeFile.State.ASKS)
    return asking.update(state=IntakeFile.State.WAITING, since=at, says="")


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
