"""The level of the part that runs steadily, as a calibrator's recording gives it a scale."""

import json
from dataclasses import replace
from pathlib import Path

import jsonschema
import numpy as np
import pytest

from tests.sound.truth import Handpiece, make
from turnwell.measure import Verdict
from turnwell.sound import Listening, analyse, recording_of, with_level

SCHEMA = json.loads((Path(__file__).parents[2] / "docs" / "schema-listen.json").read_text("utf-8"))
RATE_HZ = 48_000.0
TRUTH = make(Handpiece(amplitudes=(1.0,), line_to_noise_db=40.0), np.random.default_rng(3))
RECORDING = recording_of(TRUTH.samples, RATE_HZ)
HEARD = analyse(RECORDING)


def calibrator(rms: float):
    time_s = np.arange(5 * 48_000) / RATE_HZ
    return recording_of(rms * np.sqrt(2.0) * np.sin(2.0 * np.pi * 1_000.0 * time_s), RATE_HZ)


def loud(rms: float, heard: Listening = HEARD) -> Listening:
    return with_level(heard, RECORDING, calibrator(rms), hours_a_day=4.0)


def test_the_rotation_line_is_as_loud_as_the_calibrator_says():
    # Line 1 at 6,500 Hz alone: A-weighting there is -0.3 dB (IEC 61672-1 gives -0.1 at 6,300 Hz and
    # -1.1 at 8,000 Hz), and full scale is 94 dB plus the calibrator's distance below it.
    rms = TRUTH.line_1_rms
    found = loud(rms).reading("sound_level")
    assert found.value == pytest.approx(94.0 - 0.2, abs=0.3)
    assert found.low < 94.0 < found.high


def test_the_document_holds_level_and_dose():
    document = loud(0.1).as_dict()
    jsonschema.validate(document, SCHEMA)
    assert {row["rule"] for row in document["level"]["dose"]} >= {"niosh", "osha_limit"}
    assert document["level"]["dose"][0]["hours"] == 4.0


@pytest.mark.parametrize(
    ("heard", "with_tone", "why"),
    [
        (HEARD, False, "level.no_calibrator"),
        (replace(HEARD, segments=()), True, "level.not_running"),
    ],
)
def test_without_calibrator_or_running_it_cannot_be_told(heard, with_tone, why):
    tone = calibrator(0.1) if with_tone else None
    listening = with_level(heard, RECORDING, tone)
    found = listening.reading("sound_level")
    assert (found.verdict, found.why.key) == (Verdict.CANNOT_TELL, why)
    assert (listening.reading("noise_dose") is not None) == with_tone
    assert listening.level is None
    jsonschema.validate(listening.as_dict(), SCHEMA)
