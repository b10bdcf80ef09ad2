"""Reads of offices that several views need."""

from typing import TYPE_CHECKING, Self

from django.db import models

if TYPE_CHECKING:
    from turnwell.web.accounts.models import User
    from turnwell.web.offices.models import Office  # noqa: F401  (named in the base class below)

__all__ = ["OfficeQuerySet"]


class OfficeQuerySet(models.QuerySet["Office"]):
    """Offices as a person may see them."""

    def visible_to(self, user: "User") -> Self:
        """Keep the offices this person may see."""
        return self if user.is_shop else self.filter(pk=user.office_id)
