"""Reads of jobs that several views need."""

from typing import TYPE_CHECKING, Self

from django.db import models

if TYPE_CHECKING:
    from turnwell.web.accounts.models import User
    from turnwell.web.jobs.models import Job  # noqa: F401  (named in the base class below)

__all__ = ["JobQuerySet"]


class JobQuerySet(models.QuerySet["Job"]):
    """Jobs as a person may see them."""

    def visible_to(self, user: "User") -> Self:
        """Keep the jobs this person may see."""
        return self if user.is_shop else self.filter(office_id=user.office_id)

    def open(self) -> Self:
        """Keep the jobs whose handpiece is still here."""
        return self.filter(ended_at__isnull=True)

    def with_handpiece(self) -> Self:
        """Fetch the handpiece, its model and its office along with each job."""
        return self.select_related("office", "handpiece__model", "taken_in_by")
