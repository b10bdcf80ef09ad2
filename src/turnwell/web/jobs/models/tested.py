"""Tests of a job's handpiece: the set-up, the recordings and measurements, the readings."""

from django.db import models
from django.db.models import Q
from django.utils import timezone

from turnwell.measure import Reading
from turnwell.web.jobs.models.job import Job
from turnwell.web.shared.entries import Entry

__all__ = ["Measurement", "Recording", "StoredReading", "Test"]


class Test(Entry):
    """A test as received or a final test, with the set-up that makes two of them comparable."""

    # For pytest, which would take any class of this name for one of its own.
    __test__ = False

    class When(models.TextChoices):
        """Before the handpiece was opened, or after it was rebuilt."""

        AS_RECEIVED = "as_received", "As received"
        FINAL = "final", "Final"

    class Mounted(models.TextChoices):
        """What sat in the chuck."""

        TEST_BAR = "test_bar", "Test bar"
        BLANK = "blank", "Test blank"
        BUR = "bur", "Bur"
        NOTHING = "nothing", "Nothing"

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="tests")
    when = models.CharField(max_length=12, choices=When)
    left_out_because = models.CharField(max_length=300, blank=True)
    drive_pressure_kpa = models.FloatField(null=True, blank=True)
    pressure_gauge = models.ForeignKey(
        "shop.Instrument", null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    mounted = models.CharField(max_length=8, choices=Mounted, blank=True)
    mounted_note = models.CharField(max_length=80, blank=True)
    is_spray_on = models.BooleanField(null=True, blank=True)
    stand = models.CharField(max_length=80, blank=True)
    microphone = models.ForeignKey(
        "shop.Instrument", null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )

    class Meta(Entry.Meta):
        constraints = [
            models.CheckConstraint(
                condition=Q(drive_pressure_kpa__isnull=True)
                | (Q(drive_pressure_kpa__gte=0) & Q(drive_pressure_kpa__lte=1000)),
                name="test_pressure_in_range",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.job}: {self.get_when_display()}"


class Recording(Entry):
    """A sound recording of a test, and what the sound core made of it."""

    class Source(models.TextChoices):
        """How it reached the book."""

        BROWSER = "browser", "Recorded on this page"
        FILE = "file", "A file from a phone or recorder"

    test = models.ForeignKey(Test, on_delete=models.CASCADE, related_name="recordings")
    file = models.ForeignKey("evidence.StoredFile", on_delete=models.PROTECT, related_name="+")
    source = models.CharField(max_length=8, choices=Source)
    browser_settings = models.JSONField(default=dict, blank=True)
    is_processed = models.BooleanField(default=False)
    listening = models.JSONField(null=True, blank=True)
    refused_because = models.CharField(max_length=300, blank=True)
    core_version = models.CharField(max_length=20, blank=True)
    analysed_at = models.DateTimeField(null=True, blank=True)

    class Meta(Entry.Meta):
        pass

    def __str__(self) -> str:
        return f"{self.test}: {self.file}"


class Measurement(Entry):
    """A value read off an instrument and typed in, once or several times over."""

    test = models.ForeignKey(Test, on_delete=models.CASCADE, related_name="measurements")
    reading_key = models.CharField(max_length=40)
    values = models.JSONField()
    unit = models.CharField(max_length=12)
    instrument = models.ForeignKey(
        "shop.Instrument", null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    instrument_note = models.CharField(max_length=80, blank=True)

    class Meta(Entry.Meta):
        pass

    def __str__(self) -> str:
        return f"{self.reading_key}: {self.values}"


class StoredReading(models.Model):
    """A reading computed from a recording or a measurement, with the core that made it.

    Computed again from the evidence at will; the evidence is what is kept unedited.
    """

    test = models.ForeignKey(Test, on_delete=models.CASCADE, related_name="readings")
    recording = models.ForeignKey(
        Recording, null=True, blank=True, on_delete=models.CASCADE, related_name="readings"
    )
    measurement = models.ForeignKey(
        Measurement, null=True, blank=True, on_delete=models.CASCADE, related_name="readings"
    )
    key = models.CharField(max_length=40)
    value = models.FloatField(null=True)
    verdict = models.CharField(max_length=12)
    record = models.JSONField()
    core = models.CharField(max_length=12)
    core_version = models.CharField(max_length=20)
    computed_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["recording", "key"],
                condition=Q(recording__isnull=False),
                name="one_reading_a_key_and_recording",
            ),
            models.UniqueConstraint(
                fields=["measurement", "key"],
                condition=Q(measurement__isnull=False),
                name="one_reading_a_key_and_measurement",
            ),
            models.CheckConstraint(
                condition=Q(recording__isnull=False, measurement__isnull=True)
                | Q(recording__isnull=True, measurement__isnull=False),
                name="reading_has_one_source",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.key}: {self.verdict}"

    @property
    def reading(self) -> Reading:
        """The reading as the core gave it."""
        return Reading.from_record(self.record)
