"""Readings of a tachometer beside recordings of known speed, without any sound."""

from typing import Any

from tests.people import theo_the_technician
from turnwell.measure import reading
from turnwell.web.evidence.models import StoredFile
from turnwell.web.jobs.actions import add_tachometer_reading
from turnwell.web.jobs.models import Recording, StoredReading, TachometerReading, Test
from turnwell.web.shop.models import Instrument

__all__ = ["STEADY", "heard", "pairs", "write"]

# Heard less tachometer, rpm.
STEADY = (0, 30, -20, 10, 50, -40, 20, -10, 40, -30, 15, -25)


def heard(test: Test, speed_rpm: float | None) -> Recording:
    """Give a recording of which a speed was heard, without any sound."""
    theo = theo_the_technician()
    file = StoredFile.objects.create(
        sha256=f"{StoredFile.objects.count():064x}",
        kind="recording",
        media_type="audio/wav",
        size_bytes=1,
        original_name="run.wav",
        received_by=theo,
    )
    recording = Recording.objects.create(test=test, file=file, source="file", entered_by=theo)
    if speed_rpm is not None:
        made = reading("free_running_speed", speed_rpm, speed_rpm - 40, speed_rpm + 40, "rpm")
        StoredReading.objects.create(
            test=test,
            recording=recording,
            key=made.key,
            value=made.value,
            verdict=made.verdict.value,
            record=made.as_record(),
            core="sound",
            core_version="1",
        )
    return recording


def write(
    recording: Recording, speed_rpm: float, tachometer: Instrument, **more: Any
) -> TachometerReading:
    return add_tachometer_reading(
        by=theo_the_technician(),
        recording=recording,
        speed_rpm=speed_rpm,
        instrument=tachometer,
        **more,
    )


def pairs(test: Test, tachometer: Instrument, differences: tuple[float, ...] = STEADY) -> None:
    for number, difference in enumerate(differences):
        speed_rpm = 350_000.0 + 5_000.0 * number
        write(heard(test, speed_rpm + difference), speed_rpm, tachometer)
