"""What was found in a handpiece, and what was made of it."""

from django.conf import settings
from django.db import models
from django.utils import timezone

from turnwell.web.jobs.models.job import Job
from turnwell.web.shared.entries import Entry

__all__ = ["ConfirmedCause", "Finding", "FindingPhoto", "OwnView", "ShownLadder"]


class Finding(Entry):
    """The answer to one finding of the catalogue: seen, or looked for and not seen."""

    class Answer(models.TextChoices):
        """What was seen; what was not looked for has no row."""

        SEEN = "seen", "Seen"
        NOT_SEEN = "not_seen", "Looked, not seen"

    class Known(models.TextChoices):
        """How it is known; what was watched beats what was said."""

        LOOKED = "looked", "Looked or watched"
        TOLD = "told", "Told by the office"
        RECORDS = "records", "From the records"

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="findings")
    key = models.CharField(max_length=40)
    answer = models.CharField(max_length=8, choices=Answer)
    known = models.CharField(max_length=8, choices=Known, default=Known.LOOKED)
    note = models.CharField(max_length=300, blank=True)

    class Meta(Entry.Meta):
        indexes = [models.Index(fields=["job", "key"])]

    def __str__(self) -> str:
        return f"{self.job}: {self.key} {self.answer}"


class FindingPhoto(models.Model):
    """A photo that goes with a finding."""

    finding = models.ForeignKey(Finding, on_delete=models.CASCADE, related_name="photos")
    file = models.ForeignKey("evidence.StoredFile", on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return f"{self.finding}: {self.file}"


class OwnView(Entry):
    """The technician's own view of the cause, asked before the ladder is shown."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="own_views")
    cause_key = models.CharField(max_length=40, blank=True)
    words = models.CharField(max_length=300, blank=True)

    class Meta(Entry.Meta):
        pass

    def __str__(self) -> str:
        return f"{self.job}: {self.cause_key or 'no view yet'}"


class ShownLadder(models.Model):
    """A ranking of causes as it was shown to a person."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="ladders")
    record = models.JSONField()
    core_version = models.CharField(max_length=20)
    at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["at", "pk"]

    def __str__(self) -> str:
        return f"{self.job}: ladder of {self.at:%Y-%m-%d}"


class ConfirmedCause(Entry):
    """The main cause a person settled on, with what contributed."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="causes")
    cause_key = models.CharField(max_length=40)
    contributing = models.JSONField(default=list, blank=True)
    words = models.CharField(max_length=300, blank=True)
    is_after_ladder = models.BooleanField()
    is_own_view = models.BooleanField()

    class Meta(Entry.Meta):
        indexes = [models.Index(fields=["cause_key"])]

    def __str__(self) -> str:
        return f"{self.job}: {self.cause_key}"
