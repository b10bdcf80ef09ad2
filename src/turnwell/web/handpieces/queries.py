"""Reads of handpieces that several views need."""

from typing import TYPE_CHECKING, Self

from django.db import models

if TYPE_CHECKING:
    from turnwell.web.accounts.models import User

__all__ = ["HandpieceQuerySet"]


class HandpieceQuerySet(models.QuerySet["models.Model"]):
    """Handpieces as a person may see them."""

    def visible_to(self, user: "User") -> Self:
        """Keep the handpieces this person may see."""
        return self if user.is_shop else self.filter(office_id=user.office_id)
