"""Files on their way into the book: each keeps its own state, so that reading goes on anywhere."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils import timezone

from turnwell.web.sterilizers.models.record import CycleRecord
from turnwell.web.sterilizers.models.sterilizer import Sterilizer

__all__ = ["Intake", "IntakeFile"]


class Intake(models.Model):
    """Files that somebody dropped at one sterilizer, together."""

    sterilizer = models.ForeignKey(Sterilizer, on_delete=models.CASCADE, related_name="intakes")
    begun_at = models.DateTimeField(default=timezone.now)
    begun_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        ordering = ["-begun_at", "-pk"]

    def __str__(self) -> str:
        return f"{self.sterilizer}, {self.begun_at:%Y-%m-%d %H:%M}"

    def get_absolute_url(self) -> str:
        """Give the address of its page."""
        return reverse("intake", args=[self.pk])


class IntakeFile(models.Model):
    """One file of an intake and what became of it."""

    class State(models.TextChoices):
        """Where it stands."""

        WAITING = "waiting", "waits"
        READING = "reading", "being read"
        READ = "read", "read"
        ASKS = "asks", "asks"
        DUPLICATE = "duplicate", "there before"
        REFUSED = "refused", "refused"

    intake = models.ForeignKey(Intake, on_delete=models.CASCADE, related_name="files")
    name = models.CharField(max_length=200)
    file = models.ForeignKey(
        "evidence.StoredFile", null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    state = models.CharField(max_length=9, choices=State, default=State.WAITING)
    since = models.DateTimeField(default=timezone.now)
    says = models.CharField(max_length=400, blank=True)
    proposal = models.JSONField(null=True, blank=True)
    record = models.ForeignKey(
        CycleRecord, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )

    class Meta:
        ordering = ["pk"]
        indexes = [models.Index(fields=["state", "since"], name="intake_file_by_state")]
        constraints = [
            models.CheckConstraint(
                condition=Q(state__in=["refused", "duplicate"]) | Q(file__isnull=False),
                name="a_file_that_comes_in_is_kept",
            )
        ]

    def __str__(self) -> str:
        return self.name
