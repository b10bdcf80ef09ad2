"""Entries: rows that are never edited; a wrong one is corrected by a new one that names it."""

from typing import Self, TypeVar

from django.conf import settings
from django.db import models
from django.utils import timezone

__all__ = ["Entry", "EntryQuerySet"]

EntryT = TypeVar("EntryT", bound="Entry")


class EntryQuerySet(models.QuerySet[EntryT]):
    """Reads that every kind of entry needs."""

    def standing(self) -> Self:
        """Keep the entries that hold: not corrected since, and not taken back."""
        return self.filter(corrected_by__isnull=True, is_taken_back=False)


class Entry(models.Model):
    """Something a person wrote down at a moment.

    To correct one, write a new entry with `corrects` set to the old; to take one back, write a new
    one with `is_taken_back` true and the reason in `correction_reason`.
    """

    entered_at = models.DateTimeField(default=timezone.now, editable=False)
    entered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    corrects = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="corrected_by"
    )
    correction_reason = models.CharField(max_length=300, blank=True)
    is_taken_back = models.BooleanField(default=False)

    objects = EntryQuerySet.as_manager()

    class Meta:
        abstract = True
        ordering = ["entered_at", "pk"]
