"""What full scale of a recorder means in pascal, from the recording of a sound calibrator.

A calibrator holds one tone of known level at the microphone. The tone is found, and the recording
is believed only if the tone is where it should be, steady, pure and not cut off. What a calibrator
at 1 kHz cannot tell is how the microphone answers at the 6 to 7 kHz of a turbine's rotation line;
that stands in the budget as a part of its own.

References
----------
Levels of 94 dB and 114 dB and the tolerance of class 2: [IEC60942] (from memory). Response of phone
microphones between 1 and 10 kHz: common practice.
"""

from dataclasses import dataclass
from math import log10, pi

import numpy as np
from numpy.typing import NDArray

from turnwell.errors import InputError
from turnwell.measure import Part, common_error
from turnwell.sound.gate.findings import gate_of
from turnwell.sound.level.bands import PowerSpectrum, power_spectrum
from turnwell.sound.recording import Recording
from turnwell.sound.speed.spectra import spectra_of
from turnwell.words import Message

__all__ = ["Calibration", "Calibrator", "NoCalibration", "calibration_of", "same_chain"]

Floats = NDArray[np.float64]

TONE_HZ = 1_000.0
_OFF_SHARE = 0.03  # of the tone's frequency; the recorder's clock is not the reason
_SHORTEST_S = 1.0
_BLOCK_S = 0.1
_STEADY_DB = 0.5  # between the loudest and the quietest tenth of a second
_IMPURE_DB = -26.0  # power beside the tone, 100 Hz to 10 kHz, over the tone's own
_LINE_HZ = 20.0
_LOW_HZ, _HIGH_HZ = 100.0, 10_000.0


@dataclass(frozen=True, slots=True)
class Calibrator:
    """What is known of the calibrator and of the microphone, with defaults to be edited.

    Parameters
    ----------
    level_db : float
        Sound pressure level it makes, dB re 20 µPa; 94 or 114 as a rule.
    tolerance_db : float
        Largest error of that level; of a class 2 calibrator, from memory.
    microphone_db : float
        Largest departure of the microphone from its answer at 1 kHz, where a handpiece is loud
        (6 to 7 kHz); common practice for the microphone of a phone.
    """

    level_db: float = 94.0
    tolerance_db: float = 0.75
    microphone_db: float = 3.0

    def __post_init__(self) -> None:
        if not 60.0 <= self.level_db <= 140.0:
            raise InputError(
                f"calibrator level is {self.level_db} dB, must be 60 to 140; 94 or 114 is usual"
            )
        for name in ("tolerance_db", "microphone_db"):
            if not 0.0 <= getattr(self, name) <= 20.0:
                raise InputError(f"{name} is {getattr(self, name)}, must be 0 to 20 dB")


@dataclass(frozen=True, slots=True)
class Calibration:
    """The level of a sound whose mean square is 1, full scale being 1.

    Parameters
    ----------
    full_scale_db : float
        dB re 20 µPa at a mean square of 1; add 10 log10 of a mean square.
    parts : tuple of Part
        Of its uncertainty, in dB.
    tone_hz : float
        Frequency of the tone that was found.
    calibrator : Calibrator
    rate_hz : float
    codec : str
        Of the recording it holds for.
    """

    full_scale_db: float
    parts: tuple[Part, ...]
    tone_hz: float
    calibrator: Calibrator
    rate_hz: float
    codec: str


@dataclass(frozen=True, slots=True)
class NoCalibration:
    """Why a recording of a calibrator cannot be used, and what to do."""

    why: Message


def calibration_of(
    recording: Recording, calibrator: Calibrator | None = None
) -> Calibration | NoCalibration:
    """Find what full scale means from a recording of a sound calibrator.

    Parameters
    ----------
    recording : Recording
        Of the calibrator's tone, made with the microphone, settings and gain of the recordings that
        are to be measured.
    calibrator : Calibrator or None
        94 dB of class 2 when None.

    Examples
    --------
    >>> from turnwell.sound.recording import recording_of
    >>> time_s = np.arange(96_000) / 48_000.0
    >>> found = calibration_of(recording_of(0.1 * np.sin(2 * pi * 1_000.0 * time_s), 48_000.0))
    >>> round(found.full_scale_db, 2)  # 94 dB less the 23.01 dB that 0.1 lies below full scale
    117.01
    """
    calibrator = calibrator or Calibrator()
    flaw = _flaw(recording)
    if flaw is not None:
        return NoCalibration(flaw)
    spectrum = power_spectrum(recording.samples, recording.rate_hz)
    tone_hz = _tone_hz(spectrum)
    if abs(tone_hz / TONE_HZ - 1.0) > _OFF_SHARE:
        return _no("no_tone")
    powers = _tone_powers(recording, tone_hz)
    spread_db = 10.0 * log10(powers.max() / powers.min())
    if spread_db > _STEADY_DB:
        return _no("not_steady", spread_db=spread_db)
    tone = float(powers.mean())
    beside = _beside(spectrum, tone_hz)
    if beside > 10.0 ** (_IMPURE_DB / 10.0) * tone:
        return _no("not_pure", beside_db=10.0 * log10(beside / tone))
    levels_db = 10.0 * np.log10(powers)
    return Calibration(
        full_scale_db=calibrator.level_db - 10.0 * log10(tone),
        parts=(
            common_error(calibrator.tolerance_db, key="calibrator"),
            # The tone is one; how its level varies does not shrink with a longer recording.
            Part("calibrator_tone", float(levels_db.std())),
            common_error(calibrator.microphone_db, key="microphone_response"),
        ),
        tone_hz=tone_hz,
        calibrator=calibrator,
        rate_hz=recording.rate_hz,
        codec=recording.codec,
    )


def _no(key: str, **params: float) -> NoCalibration:
    return NoCalibration(_why(key, **params))


def _why(key: str, **params: float) -> Message:
    return Message(f"level.no_calibration.{key}", params)


def _flaw(recording: Recording) -> Message | None:
    """Say what is wrong with a recording before its tone is looked for."""
    if recording.duration_s < _SHORTEST_S:
        return _why("too_short", duration_s=recording.duration_s)
    spectra = spectra_of(
        recording.samples,
        recording.rate_hz,
        window_s=0.128,
        hop_s=0.064,
        highest_hz=min(_HIGH_HZ, 0.49 * recording.rate_hz),
    )
    for finding in gate_of(recording, spectra, 0.5 * recording.rate_hz):
        if finding.key in {"silent", "clipped"}:
            return _why(finding.key)
    return None


def _tone_hz(spectrum: PowerSpectrum) -> float:
    """Give the frequency of the strongest line above 100 Hz."""
    first = int(_LOW_HZ / spectrum.bin_hz)
    at = first + int(np.argmax(spectrum.power[first:-1]))
    # Under a Hann window the two bins beside a line's peak tell how far it lies off the middle.
    left, middle, right = np.sqrt(spectrum.power[at - 1 : at + 2])
    larger, sign = (right, 1.0) if right >= left else (left, -1.0)
    offset = sign * (2.0 * larger - middle) / (larger + middle) if middle > 0.0 else 0.0
    return float((at + offset) * spectrum.bin_hz)


def _tone_powers(recording: Recording, tone_hz: float) -> Floats:
    """Give the mean square of the tone in each tenth of a second, by least squares."""
    size = round(_BLOCK_S * recording.rate_hz)
    count = recording.samples.size // size
    blocks = recording.samples[: count * size].reshape(count, size).astype(np.float64)
    angle = 2.0 * pi * tone_hz * np.arange(size) / recording.rate_hz
    basis = np.stack((np.cos(angle), np.sin(angle), np.ones(size)), axis=1)
    fitted = np.linalg.lstsq(basis, blocks.T, rcond=None)[0]
    powers: Floats = 0.5 * (fitted[0] ** 2 + fitted[1] ** 2)
    return np.maximum(powers, 1e-30)


def _beside(spectrum: PowerSpectrum, tone_hz: float) -> float:
    """Give the mean square of what sounds beside the tone."""
    frequency = np.arange(spectrum.power.size) * spectrum.bin_hz
    apart = np.abs(frequency - tone_hz) > max(_LINE_HZ, 3.0 * spectrum.bin_hz)
    heard = apart & (frequency >= _LOW_HZ) & (frequency <= _HIGH_HZ)
    return float(np.sum(spectrum.power[heard]))


def same_chain(calibration: Calibration, recording: Recording) -> Message | None:
    """Say why a calibration does not hold for a recording, None where nothing speaks against it.

    Equal gain cannot be seen in the sound; a different rate or coding shows another setting.
    """
    if calibration.rate_hz != recording.rate_hz:
        return Message(
            "level.other_rate",
            {"calibrator_hz": calibration.rate_hz, "recording_hz": recording.rate_hz},
        )
    if _family(calibration.codec) != _family(recording.codec):
        return Message(
            "level.other_codec",
            {"calibrator_codec": calibration.codec, "recording_codec": recording.codec},
        )
    return None


def _family(codec: str) -> str:
    """Give the family of a coding: all uncompressed ones are one."""
    lossless = {"flac", "alac", "wavpack", "array"}
    is_lossless = codec.startswith("pcm_") or codec in lossless
    return "lossless" if is_lossless else codec.partition("_")[0]
