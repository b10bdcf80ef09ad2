"""Reads of sterilizers and their records that several views need."""

from typing import TYPE_CHECKING, Self

from django.db import models
from django.db.models import Count, Max, Q

from turnwell.web.shared.entries import EntryQuerySet

if TYPE_CHECKING:
    from turnwell.web.accounts.models import User
    from turnwell.web.sterilizers.models import CycleRecord, Sterilizer  # noqa: F401  (named in base classes below)

__all__ = ["CycleRecordQuerySet", "SterilizerQuerySet"]

# Records that hold: what a correction names, and what was taken back, counts no more.
STANDING = Q(records__corrected_by__isnull=True, records__is_taken_back=False)
DATED = STANDING & Q(records__started_at__isnull=False)


class SterilizerQuerySet(models.QuerySet["Sterilizer"]):
    """Sterilizers as a person may see them."""

    def visible_to(self, user: "User") -> Self:
        """Keep the sterilizers this person may see: of an office, its own."""
        return self if user.is_shop else self.filter(office=user.office_id)

    def with_counts(self) -> Self:
        """Count the records of each that hold, those with drying cut short, and the latest.

        Whether drying was cut short is counted where the day is known, as on its own page.
        """
        return self.annotate(
            record_count=Count("records", filter=STANDING, distinct=True),
            short_count=Count(
                "records", filter=DATED & Q(records__is_drying_short=True), distinct=True
            ),
            told_count=Count(
                "records",
                filter=DATED & Q(records__is_drying_short__isnull=False),
                distinct=True,
            ),
            last_run=Max("records__started_at", filter=STANDING),
        )


class CycleRecordQuerySet(EntryQuerySet["CycleRecord"]):
    """Cycle records as a person may see them."""

    def visible_to(self, user: "User") -> Self:
        """Keep the records this person may see: of an office, its own sterilizers'."""
        return self if user.is_shop else self.filter(sterilizer__office=user.office_id)

    def in_time(self) -> Self:
        """Keep the records whose moment is known, oldest first."""
        return self.filter(started_at__isnull=False).order_by("started_at", "pk")

    def light(self) -> Self:
        """Leave the stored document, with its curves, in the database."""
        return self.defer("review")
