"""What a recording tells, by the sound core in a process of its own.

The core gets plain values: what is known of the handpiece, the drive pressure of the test, and the
path of the evidence. Its result comes back as JSON values; the verdict on a label speed away from
the label pressure is the one that typed-in speeds get too.
"""

from dataclasses import asdict, astuple, dataclass, replace
from typing import Any

from turnwell.measure import Reading, Verdict
from turnwell.web.evidence import bounded, storage
from turnwell.web.evidence.kinds import quoted
from turnwell.web.evidence.queries import open_file
from turnwell.web.handpieces.history import earlier_values
from turnwell.web.handpieces.queries import facts_for_sound
from turnwell.web.jobs.analysis.label_pressure import pressure_objection
from turnwell.web.jobs.analysis.own_check import pairs_for
from turnwell.web.jobs.models import Recording, Test
from turnwell.words import Message

__all__ = ["Heard", "listen", "test_that_holds"]

LISTENING_S = 60.0


@dataclass(frozen=True, slots=True, eq=False)
class Heard:
    """What was made of a recording.

    Parameters
    ----------
    listening : dict
        The core's document with the speed track, as JSON values.
    readings : tuple of Reading
        The readings in it, with their messages.
    core_version : str
        Version of the sound core.
    """

    listening: dict[str, Any]
    readings: tuple[Reading, ...]
    core_version: str


def listen(recording: Recording) -> Heard:
    """Listen to a recording with what is known of its handpiece and its test.

    Raises
    ------
    InputError
        If its bytes were erased, are missing or cannot be listened to.
    BusyError
        If no process became free.
    """
    open_file(recording.file).close()
    test = test_that_holds(recording.test)
    answer = bounded.run(
        "listen",
        seconds=LISTENING_S,
        path=str(storage.path_of(recording.file.sha256)),
        name=quoted(recording.file.original_name),
        expectation=_expectation(test),
    )
    readings = tuple(
        _at_label_pressure(Reading.from_record(row), test) for row in answer["readings"]
    )
    listening = answer["listening"] | {"readings": [reading.as_dict() for reading in readings]}
    return Heard(listening, readings, answer["version"])


def test_that_holds(test: Test) -> Test:
    """Give the test with its set-up as last corrected."""
    while (later := Test.objects.filter(corrects_id=test.pk).first()) is not None:
        test = later
    return test


def _expectation(test: Test) -> dict[str, Any]:
    """Give what is known beforehand as JSON values."""
    handpiece = test.job.handpiece
    facts = facts_for_sound(handpiece)
    coasts, roughness = (
        earlier_values(handpiece, key, test, but=test.job)
        for key in ("coast_down_time", "roughness")
    )
    return {
        "handpiece_class": facts.class_key,
        "label_speed_rpm": facts.label_speed_rpm,
        "label_pressure_kpa": facts.label_pressure_kpa,
        "ratio": facts.ratio,
        "pressure_kpa": test.drive_pressure_kpa or None,
        "speed_limit": None if facts.speed_limit is None else asdict(facts.speed_limit),
        "class_speed_range_rpm": facts.class_speed_range_rpm,
        "baseline_coast_down_s": list(coasts) or None,
        "baseline_roughness_db": list(roughness) or None,
        "bearing": None if facts.bearing is None else asdict(facts.bearing),
        "own_check": [astuple(pair) for pair in pairs_for(test)],
    }


def _at_label_pressure(reading: Reading, test: Test) -> Reading:
    """Take the verdict from a speed whose limit does not apply to this test."""
    if reading.limit is None or reading.verdict is Verdict.CANNOT_TELL:
        return reading
    objection = pressure_objection(test, reading.key)
    if objection is None:
        return reading
    if (check := reading.why.params.get("check")) is not None:
        objection = Message(reading.why.key, {"first": objection, "check": check})
    return replace(reading, verdict=Verdict.NOT_PROVEN, why=objection)
