"""Sound levels of made recordings whose true level is known, and what is refused."""

from typing import Any

import numpy as np
import pytest
from scipy import signal

from turnwell.errors import InputError
from turnwell.measure import Verdict
from turnwell.sound.gate.findings import GateFinding
from turnwell.sound.level.calibration import (
    Calibration,
    Calibrator,
    NoCalibration,
    calibration_of,
    same_chain,
)
from turnwell.sound.level.meter import metered
from turnwell.sound.level.sound_level import (
    QUOTED_LIMIT,
    SoundLevel,
    level_of,
    level_readings,
    no_level,
)
from turnwell.sound.level.weighting import a_weighting_power
from turnwell.sound.recording import Recording, recording_of
from turnwell.words import Message, text_of

RATE_HZ = 48_000.0
PASCAL = 0.02  # what one pascal is in samples
REFERENCE_PA = 20e-6


def time_s(duration_s: float) -> np.ndarray:
    return np.arange(int(duration_s * RATE_HZ)) / RATE_HZ


def tone(level_db: float, tone_hz: float, duration_s: float = 5.0) -> np.ndarray:
    """Pressure of a tone, in samples."""
    amplitude_pa = np.sqrt(2.0) * REFERENCE_PA * 10.0 ** (level_db / 20.0)
    return PASCAL * amplitude_pa * np.sin(2.0 * np.pi * tone_hz * time_s(duration_s) + 0.3)


def noise(level_db: float, duration_s: float = 5.0, seed: int = 1) -> np.ndarray:
    samples = np.random.default_rng(seed).standard_normal(int(duration_s * RATE_HZ))
    return PASCAL * REFERENCE_PA * 10.0 ** (level_db / 20.0) * samples


def calibrator(level_db: float = 94.0) -> Recording:
    return recording_of(tone(level_db, 1_000.0) + noise(45.0, seed=2), RATE_HZ)


def measured(samples: np.ndarray, **options: Any) -> SoundLevel:
    level = level_of(recording_of(samples, RATE_HZ), calibrator(), **options)
    assert isinstance(level, SoundLevel), text_of(level)
    return level


@pytest.mark.parametrize("calibrator_db", [94.0, 114.0])
def test_full_scale_is_found_from_the_calibrator(calibrator_db: float):
    source = Calibrator(level_db=calibrator_db)
    # At this gain 114 dB would be cut off; the recorder is turned down by 20 dB for it.
    samples = calibrator(calibrator_db).samples * 10.0 ** (-(calibrator_db - 94.0) / 20.0)
    found = calibration_of(recording_of(samples, RATE_HZ), source)
    assert isinstance(found, Calibration)
    expected_db = calibrator_db - 10.0 * np.log10(np.mean(samples.astype(np.float64) ** 2))
    assert found.full_scale_db == pytest.approx(expected_db, abs=0.01)
    assert found.tone_hz == pytest.approx(1_000.0, abs=0.05)


@pytest.mark.parametrize(
    ("tone_hz", "weight_db"), [(1_000.0, 0.0), (31.62, -39.4), (125.89, -16.1), (6_309.6, -0.1)]
)
def test_a_tone_of_known_level_is_read_with_its_weight(tone_hz: float, weight_db: float):
    # Weights of these bands as the table of IEC 61672-1 has them.
    level = measured(tone(80.0, tone_hz) + noise(20.0), gate=())
    assert level.a_weighted_db == pytest.approx(80.0 + weight_db, abs=0.06)
    assert level.loudest_db == pytest.approx(level.a_weighted_db, abs=0.1)
    loudest = max(level.bands, key=lambda row: row.level_db)
    assert loudest.level_db == pytest.approx(80.0, abs=0.02)
    assert loudest.band.low_hz < tone_hz < loudest.band.high_hz


def test_the_level_agrees_with_the_sum_of_its_bands():
    level = measured(tone(75.0, 6_650.0) + noise(78.0))
    weights = a_weighting_power([row.band.mid_hz for row in level.bands])
    powers = 10.0 ** (np.array([row.level_db for row in level.bands]) / 10.0)
    # White noise above the last band is not in the sum.
    assert 10.0 * np.log10(np.sum(weights * powers)) == pytest.approx(level.a_weighted_db, abs=0.25)


def test_the_meter_agrees_with_a_digital_filter_of_the_same_poles():
    rng = np.random.default_rng(5)
    rate_hz = 192_000.0
    # Band-limited, and the filter runs far above it: the bilinear map bends little there.
    low = signal.butter(8, 8_000.0, fs=rate_hz, output="sos")
    samples = signal.sosfilt(low, rng.standard_normal(int(4 * rate_hz))).astype(np.float32)
    poles = [-2.0 * np.pi * pole for pole in (20.6, 20.6, 107.7, 737.9, 12_194.0, 12_194.0)]
    _, at_reference = signal.freqs_zpk([0.0] * 4, poles, 1.0, [2.0 * np.pi * 1_000.0])
    gain = 1.0 / abs(at_reference[0])
    digital = signal.bilinear_zpk([0.0] * 4, poles, gain, rate_hz)
    weighted = signal.sosfilt(signal.zpk2sos(*digital), samples)
    heard = metered(samples, rate_hz)
    assert 10.0 * np.log10(heard.mean / np.mean(weighted**2)) == pytest.approx(0.0, abs=0.03)
    fade = np.exp(-1.0 / (0.125 * rate_hz))
    held = signal.lfilter([1.0 - fade], [1.0, -fade], weighted**2)[int(rate_hz) :]
    assert 10.0 * np.log10(heard.loudest / held.max()) == pytest.approx(0.0, abs=0.5)


def test_a_short_burst_reads_as_the_standard_says():
    # IEC 61672-1:2013, table 4: a 4 kHz burst of 200 ms reads 1.0 dB below the steady tone with
    # time weighting F, one of 50 ms 4.8 dB below (from memory).
    for burst_s, below_db in ((0.2, 1.0), (0.05, 4.8)):
        at = time_s(3.0)
        samples = tone(90.0, 4_000.0, 3.0) * ((at > 1.0) & (at <= 1.0 + burst_s))
        steady = metered(tone(90.0, 4_000.0, 3.0).astype(np.float32), RATE_HZ)
        burst = metered(samples.astype(np.float32), RATE_HZ)
        read_db = 10.0 * np.log10(burst.loudest / steady.loudest)
        assert read_db == pytest.approx(-below_db, abs=0.06)


def test_where_a_sound_breaks_off_nothing_is_made_louder():
    # Rumble that the weighting takes away, cut off at its crest, and a constant offset.
    rumble = tone(110.0, 10.0, 5.0) + 0.05
    quiet_db = measured(noise(50.0), gate=()).a_weighted_db
    level = measured(rumble + noise(50.0), gate=())
    assert level.a_weighted_db == pytest.approx(quiet_db, abs=0.7)  # 110 - 70.4 is 39.6 dB(A)
    assert level.loudest_db < quiet_db + 1.0


def test_only_the_stretch_that_runs_is_measured():
    samples = np.concatenate((noise(40.0, 2.0), tone(80.0, 1_000.0, 3.0), noise(40.0, 2.0)))
    level = measured(samples, start_s=2.1, stop_s=4.9)
    assert level.a_weighted_db == pytest.approx(80.0, abs=0.05)
    assert level.duration_s == pytest.approx(2.8)


def test_the_true_level_lies_in_the_interval_as_often_as_it_says():
    level = measured(noise(70.0))
    low, high = level.budget.interval()
    rng = np.random.default_rng(11)
    # The errors of calibrator and microphone, drawn from what the budget states.
    error_db = rng.uniform(-0.75, 0.75, 20_000) + rng.uniform(-3.0, 3.0, 20_000)
    held = np.mean(
        (low - level.a_weighted_db <= error_db) & (error_db <= high - level.a_weighted_db)
    )
    # A rectangular part as large as this is held to its end by a normal interval.
    assert 0.95 <= held <= 0.995


def test_a_sound_that_varies_has_a_wider_interval():
    # Half seconds of 79 and 81 dB in turns: the standard deviation of ten of them is 1.05 dB.
    steps = 10.0 ** (np.where(np.floor(time_s(5.0) / 0.5) % 2 == 0, -1.0, 1.0) / 20.0)
    samples = np.concatenate(
        (tone(80.0, 1_000.0, 0.5), tone(80.0, 1_000.0) * steps, noise(80.0, 0.5))
    )
    level = measured(samples, gate=(), start_s=0.5, stop_s=5.5)
    (part,) = (part for part in level.budget.parts if part.key == "variation")
    assert part.standard == pytest.approx(1.05 / np.sqrt(10.0), rel=0.05)
    assert part.degrees == 9.0


def test_the_readings_say_what_they_stand_on():
    sound, dose = level_readings(measured(noise(85.0), hours_a_day=2.0))
    assert (sound.key, sound.unit, sound.verdict) == ("sound_level", "dB(A)", Verdict.NO_LIMIT)
    assert "± 3 dB" in text_of(sound.why)
    assert "94 ± 0.75 dB" in text_of(sound.why)
    assert dose.key == "noise_dose"
    assert "NIOSH" in text_of(dose.why)  # the strictest
    assert dose.low < dose.value < dose.high


def test_the_quoted_limit_is_offered_as_not_verified():
    assert not QUOTED_LIMIT.basis.is_verified
    sound, _ = level_readings(measured(noise(60.0)), limit=QUOTED_LIMIT)
    assert sound.verdict is Verdict.WITHIN
    sound, _ = level_readings(measured(noise(82.0)), limit=QUOTED_LIMIT)
    assert sound.verdict is Verdict.NOT_PROVEN


def test_the_document_has_every_key():
    document = measured(tone(80.0, 1_000.0) + noise(60.0)).as_dict()
    assert document["calibrator_db"] == 94.0
    quantity = document["a_weighted_db"]
    assert quantity["low"] < quantity["value"] < quantity["high"]
    assert {row["mid_hz"] for row in document["bands"]} >= {25.0, 1_000.0, 6_300.0, 16_000.0}
    assert [row["rule"] for row in document["dose"]] == ["niosh", "osha_limit", "osha_programme"]


def test_without_a_calibrator_nothing_is_said():
    sound, dose = no_level()
    assert sound.value is None
    assert dose.value is None
    assert "record a calibrator" in text_of(sound.why)


def refused(recording: Recording, source: Recording) -> str:
    answer = level_of(recording, source)
    assert isinstance(answer, Message)
    assert no_level(answer)[0].verdict is Verdict.CANNOT_TELL
    return text_of(answer)


def test_a_clipped_recording_has_no_level():
    samples = np.clip(tone(120.0, 1_000.0), -0.2, 0.2)
    assert "cut off" in refused(recording_of(samples, RATE_HZ), calibrator())


def test_a_narrow_recording_has_no_level():
    low = signal.butter(16, 8_000.0, fs=RATE_HZ, output="sos")
    samples = signal.sosfilt(low, noise(80.0))
    assert "kHz was recorded" in refused(recording_of(samples, RATE_HZ), calibrator())


def test_a_short_one_has_no_level():
    assert "0.40 s" in refused(recording_of(noise(80.0, 0.4), RATE_HZ), calibrator())


def test_another_setting_than_the_calibrators_has_no_level():
    other = recording_of(noise(80.0), 44_100.0)
    assert "settings differ" in refused(other, calibrator())


def test_a_finding_of_the_whole_analysis_counts():
    rides = GateFinding(
        "gain_rides", Message("sound.gate.gain_rides", {"rise_db": 6.0}), ("level",)
    )
    answer = level_of(recording_of(noise(80.0), RATE_HZ), calibrator(), gate=(rides,))
    assert isinstance(answer, Message)
    assert "gain" in text_of(answer)


@pytest.mark.parametrize(
    ("samples", "says"),
    [
        (tone(94.0, 1_000.0, 0.5), "0.50 s"),
        (np.zeros(96_000), "silent"),
        (np.clip(tone(94.0, 1_000.0), -0.015, 0.015) * 20, "cut off"),
        (tone(94.0, 1_100.0), "1 kHz"),
        (tone(94.0, 1_000.0) * (1.0 + 0.03 * np.sign(time_s(5.0) - 2.0)), "varies by 0.5"),
        (tone(94.0, 1_000.0) + noise(74.0), "other sound"),
    ],
)
def test_a_calibrator_that_is_not_right_is_refused(samples: np.ndarray, says: str):
    found = calibration_of(recording_of(samples, RATE_HZ))
    assert isinstance(found, NoCalibration)
    assert says in text_of(found.why)


def test_another_rate_or_coding_is_refused():
    found = calibration_of(calibrator())
    assert isinstance(found, Calibration)
    other = recording_of(noise(80.0), 44_100.0)
    assert text_of(same_chain(found, other) or "").startswith(
        "The calibrator was recorded at 48,000"
    )
    coded = recording_of(noise(80.0), RATE_HZ, codec="aac")
    assert "as array and this recording as aac" in text_of(same_chain(found, coded) or "")
    assert same_chain(found, recording_of(noise(80.0), RATE_HZ, codec="pcm_s16le")) is None


@pytest.mark.parametrize(
    "wrong", [{"level_db": 0.0}, {"tolerance_db": -1.0}, {"microphone_db": 99.0}]
)
def test_an_impossible_calibrator_is_refused(wrong: dict[str, float]):
    with pytest.raises(InputError, match="must be"):
        Calibrator(**wrong)


def test_a_stretch_outside_the_recording_is_refused():
    with pytest.raises(InputError, match="does not lie"):
        level_of(recording_of(noise(80.0), RATE_HZ), calibrator(), start_s=6.0)
