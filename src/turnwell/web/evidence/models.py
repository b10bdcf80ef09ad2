"""Files as they were received, kept under their SHA-256 and never rewritten."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from turnwell.web.evidence.queries import StoredFileQuerySet

__all__ = ["StoredFile"]


class StoredFile(models.Model):
    """A received or issued file; its bytes lie in the data folder under their SHA-256.

    Erasing removes the bytes and keeps this row: what it was, who erased it, when and why.
    """

    class Kind(models.TextChoices):
        """What the bytes are."""

        RECORDING = "recording", "Recording"
        PHOTO = "photo", "Photo"
        PAPER = "paper", "Issued paper"
        INSTRUCTIONS = "instructions", "Instructions for use"
        CYCLE_RECORD = "cycle_record", "Cycle record"

    sha256 = models.CharField(max_length=64, db_index=True)
    kind = models.CharField(max_length=14, choices=Kind)
    media_type = models.CharField(max_length=80)
    size_bytes = models.BigIntegerField()
    original_name = models.CharField(max_length=200, blank=True)
    received_at = models.DateTimeField(default=timezone.now)
    received_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    erased_at = models.DateTimeField(null=True, blank=True)
    erased_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    erased_why = models.CharField(max_length=300, blank=True)

    objects = StoredFileQuerySet.as_manager()

    class Meta:
        ordering = ["received_at", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(size_bytes__gte=0), name="file_size_not_negative"),
            models.CheckConstraint(
                condition=Q(erased_at__isnull=True, erased_by__isnull=True, erased_why="")
                | (Q(erased_at__isnull=False, erased_by__isnull=False) & ~Q(erased_why="")),
                name="erased_by_someone_for_a_reason",
            ),
        ]

    def __str__(self) -> str:
        return self.original_name or self.sha256[:12]

    @property
    def is_erased(self) -> bool:
        """True once the bytes are gone."""
        return self.erased_at is not None
