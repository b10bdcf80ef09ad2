"""Cycle records as they were received, what was read from them, and what the load was."""

from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils import timezone

from turnwell.measure import Reading
from turnwell.web.shared.entries import Entry
from turnwell.web.sterilizers.models.sterilizer import Plan, Sterilizer
from turnwell.web.sterilizers.queries import CycleRecordQuerySet

__all__ = ["CycleReading", "CycleRecord", "Load", "StartEntry"]


class CycleRecord(Entry):
    """The record of one run: its file, when it began, and what the steam core made of it.

    Parameters of the time line: `clock_shown` is the sterilizer's own clock as written in the file,
    `started_at` the moment it stands for once the clock's offset is taken off. `layout` is the
    confirmed one the file was read by, and stays with it; None where the file told its columns
    itself.
    """

    sterilizer = models.ForeignKey(Sterilizer, on_delete=models.PROTECT, related_name="records")
    file = models.ForeignKey("evidence.StoredFile", on_delete=models.PROTECT, related_name="+")
    sha256 = models.CharField(max_length=64)
    plan = models.ForeignKey(
        Plan, null=True, blank=True, on_delete=models.SET_NULL, related_name="records"
    )
    clock_shown = models.CharField(max_length=32, blank=True)
    started_at = models.DateTimeField(null=True, blank=True)
    layout = models.JSONField(null=True, blank=True)
    review = models.JSONField(null=True, blank=True)
    fault_keys = models.JSONField(default=list, blank=True)
    is_drying_short = models.BooleanField(null=True, blank=True)
    refused_because = models.CharField(max_length=300, blank=True)
    core_version = models.CharField(max_length=20, blank=True)
    analysed_at = models.DateTimeField(null=True, blank=True)

    objects = CycleRecordQuerySet.as_manager()  # type: ignore[misc]  # instead of the entries' own

    class Meta(Entry.Meta):
        indexes = [models.Index(fields=["sterilizer", "started_at"], name="record_by_time")]
        constraints = [
            models.UniqueConstraint(
                fields=["sterilizer", "sha256"],
                condition=Q(corrects__isnull=True),
                name="record_once_a_sterilizer",
            )
        ]

    def __str__(self) -> str:
        return f"{self.sterilizer}: {self.file}"

    def get_absolute_url(self) -> str:
        """Give the address of its page."""
        return reverse("cycle-record", args=[self.pk])


class CycleReading(models.Model):
    """A reading of a record, in columns as far as lists and trends need it; made again at will."""

    record = models.ForeignKey(CycleRecord, on_delete=models.CASCADE, related_name="readings")
    key = models.CharField(max_length=40)
    value = models.FloatField(null=True)
    verdict = models.CharField(max_length=12)
    stored = models.JSONField()
    computed_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["record", "key"], name="one_reading_a_key_and_record")
        ]

    def __str__(self) -> str:
        return f"{self.key}: {self.verdict}"

    @property
    def reading(self) -> Reading:
        """The reading as the core gave it."""
        return Reading.from_record(self.stored)


class Load(Entry):
    """What lay in the sterilizer, as a person wrote it down; a later one takes its place."""

    record = models.ForeignKey(CycleRecord, on_delete=models.CASCADE, related_name="loads")
    counts = models.JSONField(default=dict, blank=True)
    pouches = models.PositiveSmallIntegerField(null=True, blank=True)
    trays = models.PositiveSmallIntegerField(null=True, blank=True)
    water_before_g = models.FloatField(null=True, blank=True)
    note = models.CharField(max_length=300, blank=True)

    class Meta(Entry.Meta):
        constraints = [
            models.CheckConstraint(
                condition=Q(water_before_g__isnull=True)
                | Q(water_before_g__gte=0, water_before_g__lte=5000),
                name="water_before_in_range",
            )
        ]

    def __str__(self) -> str:
        return f"{self.record}: load"


class StartEntry(Entry):
    """When a run began, as a person wrote it down, where its record shows no day."""

    record = models.ForeignKey(CycleRecord, on_delete=models.CASCADE, related_name="starts")
    began_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.record}: {self.began_at:%Y-%m-%d %H:%M}"
