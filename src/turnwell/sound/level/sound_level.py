"""The sound level of a running handpiece, from its recording and one of a sound calibrator.

The level is that of one place: where the microphone was. A handpiece is louder in some directions
than in others and twice as near is about 6 dB more, so the level of a person's ear is measured at
that person's ear.

References
----------
Equivalent level, weighting A, time weighting F: [IEC61672-1]. Bands: [IEC61260-1].
"""

from dataclasses import dataclass
from math import inf, log10, sqrt
from typing import Any

import numpy as np
from numpy.typing import NDArray

from turnwell.errors import InputError
from turnwell.measure import Basis, Budget, Limit, Part, Reading, cannot_tell, reading
from turnwell.sound.gate.edge import codec_edge_hz
from turnwell.sound.gate.findings import LEVEL, GateFinding, gate_of
from turnwell.sound.level.bands import Band, bands_between, power_in, power_spectrum
from turnwell.sound.level.calibration import (
    Calibrator,
    NoCalibration,
    calibration_of,
    same_chain,
)
from turnwell.sound.level.dose import RULES, Dose, dose_of, no_dose
from turnwell.sound.level.meter import Metered, metered
from turnwell.sound.recording import Recording
from turnwell.sound.speed.plateaus import long_spectra
from turnwell.words import Message

__all__ = ["QUOTED_LIMIT", "BandLevel", "SoundLevel", "level_of", "level_readings", "no_level"]

# Offered, never set by itself: the clause was not read.
QUOTED_LIMIT = Limit(
    low=None,
    high=80.0,
    source="80 dB(A) as commonly quoted from ISO 14457; clause not read",
    basis=Basis.MEMORY,
)
_SHORTEST_S = 0.5
# A rotation line of 6 to 7 kHz and its second harmonic: what is loud of a turbine lies below.
_LEAST_EDGE_HZ = 14_000.0
_HEARING_HZ = 20_000.0
_LOWEST_BAND_HZ = 20.0


@dataclass(frozen=True, slots=True)
class BandLevel:
    """Level of one third-octave band, unweighted, dB re 20 µPa."""

    band: Band
    level_db: float


@dataclass(frozen=True, slots=True)
class SoundLevel:
    """How loud it was at the microphone.

    Parameters
    ----------
    budget : Budget
        Equivalent A-weighted level, dB re 20 µPa, with the parts of its uncertainty.
    loudest_db : float
        Highest A-weighted level with time weighting F.
    bands : tuple of BandLevel
        From the lowest to the highest.
    calibrator : Calibrator
    edge_hz : float
        Above it nothing was recorded.
    duration_s : float
        Length of what was measured.
    doses : tuple of Dose
        Of a day at this level, by each rule.
    """

    budget: Budget
    loudest_db: float
    bands: tuple[BandLevel, ...]
    calibrator: Calibrator
    edge_hz: float
    duration_s: float
    doses: tuple[Dose, ...]

    @property
    def a_weighted_db(self) -> float:
        """Equivalent A-weighted level."""
        return self.budget.value

    def as_dict(self) -> dict[str, Any]:
        """Give the level as JSON values."""
        low, high = self.budget.interval()
        return {
            "calibrator_db": self.calibrator.level_db,
            "a_weighted_db": {"value": self.a_weighted_db, "low": low, "high": high},
            "loudest_db": self.loudest_db,
            "duration_s": self.duration_s,
            "edge_hz": self.edge_hz,
            "bands": [
                {"mid_hz": row.band.nominal_hz, "level_db": row.level_db} for row in self.bands
            ],
            "dose": [dose.as_dict() for dose in self.doses],
        }


def level_of(
    recording: Recording,
    calibrator: Recording,
    *,
    calibrator_db: float = 94.0,
    calibrator_tolerance_db: float = 0.75,
    microphone_db: float = 3.0,
    start_s: float = 0.0,
    stop_s: float = inf,
    hours_a_day: float = 8.0,
    gate: tuple[GateFinding, ...] | None = None,
) -> SoundLevel | Message:
    """Measure the sound level of a recording with the help of one of a calibrator.

    Parameters
    ----------
    recording : Recording
        Of the handpiece.
    calibrator : Recording
        Of a sound calibrator on the same microphone, with the same settings and gain.
    calibrator_db, calibrator_tolerance_db, microphone_db
        As `Calibrator` names them.
    start_s, stop_s : float
        The stretch in which it runs; the whole recording when left out.
    hours_a_day : float
        For the dose.
    gate : tuple of GateFinding or None
        What is wrong with the recording, where that is known already. What only the whole analysis
        sees, gain riding among it, counts only if it is given here.

    Returns
    -------
    SoundLevel or Message
        The level, or why there is none and what to do.

    Raises
    ------
    InputError
        If the stretch does not lie in the recording or a number is out of range.
    """
    source = Calibrator(calibrator_db, calibrator_tolerance_db, microphone_db)
    first, last = _stretch(recording, start_s, stop_s)
    part = recording.samples[first:last]
    spectra = long_spectra(recording.samples, recording.rate_hz)
    edge_hz = codec_edge_hz(spectra, recording.rate_hz)
    found = gate_of(recording, spectra, edge_hz) if gate is None else gate
    for finding in found:
        if LEVEL in finding.takes_away:
            return finding.message
    if part.size < _SHORTEST_S * recording.rate_hz:
        return Message("level.too_short", {"duration_s": part.size / recording.rate_hz})
    if edge_hz < _LEAST_EDGE_HZ:
        return Message("level.edge", {"edge_khz": edge_hz / 1e3})
    calibration = calibration_of(calibrator, source)
    if isinstance(calibration, NoCalibration):
        return calibration.why
    if (objection := same_chain(calibration, recording)) is not None:
        return objection
    heard = metered(recording.samples, recording.rate_hz, first=first, last=last)
    full_scale_db = calibration.full_scale_db
    budget = Budget(
        full_scale_db + 10.0 * log10(heard.mean), (*calibration.parts, _variation(heard))
    )
    low, high = budget.interval()
    return SoundLevel(
        budget=budget,
        loudest_db=full_scale_db + 10.0 * log10(heard.loudest),
        bands=_band_levels(part, recording.rate_hz, min(edge_hz, _HEARING_HZ), full_scale_db),
        calibrator=source,
        edge_hz=edge_hz,
        duration_s=part.size / recording.rate_hz,
        doses=tuple(dose_of(budget.value, low, high, hours=hours_a_day, rule=r) for r in RULES),
    )


def level_readings(level: SoundLevel, *, limit: Limit | None = None) -> tuple[Reading, ...]:
    """Give the level and the doses as readings.

    Parameters
    ----------
    level : SoundLevel
    limit : Limit or None
        None stands by itself; `QUOTED_LIMIT` may be offered to the user.

    Returns
    -------
    tuple of Reading
        `sound_level`, then `noise_dose` by the strictest rule.
    """
    low, high = level.budget.interval()
    params = {
        "calibrator_db": level.calibrator.level_db,
        "tolerance_db": level.calibrator.tolerance_db,
        "microphone_db": level.calibrator.microphone_db,
        "edge_khz": min(level.edge_hz, _HEARING_HZ) / 1e3,
    }
    sound = reading(
        "sound_level",
        level.a_weighted_db,
        low,
        high,
        "dB(A)",
        limit=limit,
        why=Message("level.what_it_holds", params),
    )
    strictest = max(level.doses, key=lambda dose: dose.percent)
    return sound, strictest.as_reading()


def no_level(why: Message | None = None) -> tuple[Reading, ...]:
    """Give the readings where the level cannot be told.

    Parameters
    ----------
    why : Message or None
        What `level_of` gave; None where there is no recording of a calibrator.
    """
    reason = why or Message("level.no_calibrator")
    return cannot_tell("sound_level", "dB(A)", reason), no_dose()


def _stretch(recording: Recording, start_s: float, stop_s: float) -> tuple[int, int]:
    """Give the first sample of a stretch and the one behind its last."""
    stop_s = min(stop_s, recording.duration_s)
    if not 0.0 <= start_s < max(stop_s, 1e-9):
        raise InputError(
            f"the stretch {start_s} to {stop_s} s does not lie in the recording of "
            f"{recording.duration_s:.2f} s"
        )
    return round(start_s * recording.rate_hz), round(stop_s * recording.rate_hz)


def _variation(heard: Metered) -> Part:
    """Give how far the mean of so many half seconds may lie from that of a longer run, in dB."""
    count = heard.halves.size
    if count < 2:
        return Part("variation", 1.0)
    share = float(heard.halves.std(ddof=1)) / float(heard.halves.mean()) / sqrt(count)
    return Part("variation", 10.0 / np.log(10.0) * share, count - 1.0)


def _band_levels(
    samples: NDArray[np.float32], rate_hz: float, highest_hz: float, full_scale_db: float
) -> tuple[BandLevel, ...]:
    bands = bands_between(_LOWEST_BAND_HZ, highest_hz * 10.0**0.05)
    power = power_in(power_spectrum(samples, rate_hz), bands)
    return tuple(
        BandLevel(band, full_scale_db + 10.0 * log10(max(mean, 1e-30)))
        for band, mean in zip(bands, power.tolist(), strict=True)
        if np.isfinite(mean)
    )
