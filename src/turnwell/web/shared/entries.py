"""Entries: rows that are never edited; a wrong one is corrected by a new one that names it."""

from collections.abc import Collection
from datetime import datetime
from typing import TYPE_CHECKING, Self, TypeVar

from django.conf import settings
from django.db import models
from django.utils import timezone

if TYPE_CHECKING:
    from turnwell.web.accounts.models import User

__all__ = ["Entry", "EntryQuerySet", "taking_back"]

EntryT = TypeVar("EntryT", bound="Entry")
OF_THE_NEW_ROW = frozenset(
    {"id", "entered_at", "entered_by", "corrects", "correction_reason", "is_taken_back"}
)


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


def taking_back(
    entry: EntryT,
    *,
    by: "User",
    reason: str,
    at: datetime | None = None,
    repeating: Collection[str] | None = None,
) -> EntryT:
    """Give the entry by which another is taken back; it is not saved yet.

    Parameters
    ----------
    entry : Entry
        The one that no longer holds.
    by : User
    reason : str
    at : datetime or None
        Now when None.
    repeating : collection of str or None
        Fields whose values it repeats, so that it can be read by itself; all of them when None.
    """
    values = {
        field.attname: getattr(entry, field.attname)
        for field in entry._meta.concrete_fields
        if field.name not in OF_THE_NEW_ROW and (repeating is None or field.name in repeating)
    }
    return type(entry)(
        **values,
        entered_by=by,
        entered_at=at or timezone.now(),
        corrects=entry,
        correction_reason=reason.strip(),
        is_taken_back=True,
    )
