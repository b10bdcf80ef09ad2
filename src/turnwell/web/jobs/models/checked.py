"""What checks the microphone: a tachometer's reading beside a recording."""

from django.db import models
from django.db.models import Q

from turnwell.web.jobs.models.tested import Recording, Test
from turnwell.web.shared.entries import Entry

__all__ = ["TachometerReading"]


class TachometerReading(Entry):
    """What a tachometer showed of the bur's speed while a recording was made."""

    recording = models.ForeignKey(
        Recording, on_delete=models.CASCADE, related_name="tachometer_readings"
    )
    speed_rpm = models.FloatField()
    instrument = models.ForeignKey("shop.Instrument", on_delete=models.PROTECT, related_name="+")
    note = models.CharField(max_length=300, blank=True)

    class Meta(Entry.Meta):
        constraints = [
            models.CheckConstraint(
                condition=Q(speed_rpm__gt=0) & Q(speed_rpm__lte=1_000_000),
                name="tachometer_speed_in_range",
            )
        ]

    def __str__(self) -> str:
        return f"{self.speed_rpm:,.0f} rpm, {self.instrument}"

    @property
    def test(self) -> Test:
        """The test that was recorded."""
        return self.recording.test
