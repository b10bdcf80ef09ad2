"""Tells, where no shaft was found, whether all that is heard comes and goes as speech does.

Syllables rise over the room several times a second and lie below 4 kHz; a machine stays, and jet
noise reaches far higher.
"""

import numpy as np
from numpy.typing import NDArray

from turnwell.sound.gate.findings import COAST, CONDITION, SPEED, GateFinding
from turnwell.sound.speed.spectra import Spectra
from turnwell.words import Message

__all__ = ["only_speech"]

_LOW_HZ, _HIGH_HZ = 100.0, 4_000.0
_SWING_DB = 10.0  # between the loudest tenth and the softest fifth of the frames
_BELOW_DB = 8.0  # what lies above 4 kHz, below what lies under it, while it is loud
_TURNS_PER_S = 0.8
_SHORTEST_S = 1.5
_IMITATED = frozenset({"codec_edge", "noise_suppressed"})


def only_speech(spectra: Spectra, so_far: tuple[GateFinding, ...] = ()) -> tuple[GateFinding, ...]:
    """Add the finding that only a voice is heard; to be asked where no shaft is found.

    Parameters
    ----------
    spectra : Spectra
        Of the whole recording.
    so_far : tuple of GateFinding
        What was found before. A voice has an upper edge and empty bins of its own: findings about
        these give way to it.
    """
    if not _is_speech(spectra):
        return so_far
    finding = GateFinding("speech", Message("sound.gate.speech"), (SPEED, COAST, CONDITION))
    return (*(other for other in so_far if other.key not in _IMITATED), finding)


def _is_speech(spectra: Spectra) -> bool:
    if len(spectra.time_s) * spectra.hop_s < _SHORTEST_S:
        return False
    low, high = int(_LOW_HZ / spectra.bin_hz), int(_HIGH_HZ / spectra.bin_hz)
    voice_db = np.concatenate(
        [_level_db(spectra.power_of(rows)[:, low:high]) for rows in spectra.parts()]
    )
    soft_db, loud_db = np.percentile(voice_db, [20.0, 90.0])
    loud = voice_db >= loud_db
    above = spectra.power_of(np.flatnonzero(loud))[:, high:]
    is_low = above.size == 0 or np.median(voice_db[loud] - _level_db(above)) > _BELOW_DB
    # Up over three quarters of the swing, then down under one quarter: one syllable or word.
    is_up = voice_db > soft_db + 0.75 * (loud_db - soft_db)
    is_down = voice_db < soft_db + 0.25 * (loud_db - soft_db)
    known = np.flatnonzero(is_up | is_down)
    turns = np.count_nonzero(np.diff(is_up[known].astype(int)) == 1)
    comes_and_goes = turns >= _TURNS_PER_S * len(voice_db) * spectra.hop_s
    return bool(is_low and comes_and_goes and loud_db - soft_db > _SWING_DB)


def _level_db(power: NDArray[np.float32]) -> NDArray[np.float64]:
    return np.asarray(10.0 * np.log10(power.sum(axis=1, dtype=np.float64) + 1e-30), np.float64)
