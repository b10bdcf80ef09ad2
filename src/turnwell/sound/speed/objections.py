"""What speaks against a run once its speed is known finely: a tremble, a slower shaft, a close one.

The search for steady running sees lines some 20 Hz apart as one. Here spectra five times as long
look along the speed that was found.

References
----------
Rate and depth of a vibrato: from memory.
"""

import numpy as np
from numpy.typing import NDArray

from turnwell.sound.recording import Recording
from turnwell.sound.speed.claims import claim_of
from turnwell.sound.speed.plateaus import WINDOW_S, Plateau
from turnwell.sound.speed.runs import Run
from turnwell.sound.speed.spectra import Spectra, likelihoods, spectra_of

__all__ = ["SLOW_HZ", "objection_to"]

SLOW_HZ = 750.0  # 45,000 rpm, the fastest motor
_TREMBLE_HZ = (3.5, 8.5)  # of a voice or an instrument; from memory
_LEAST_TREMBLE = 0.0012  # of the speed, one standard deviation
_LEAST_AT_ONE_RATE, _ONE_RATE = 0.0004, 0.6  # of the speed; share of all ripple
_LONG_WINDOW_S = 0.6
_HALF_UNSEEN_HZ = 260.0  # slower, the short spectra may not show the lines of half the speed
_UNSEEN_BINS = 3.5  # of the short spectra, beside a line
_OWN_BINS = 3.0  # of the long spectra, beside a line
_CLOSE_RIVAL = 0.25  # -6 dB
_HEARD = 3.0  # mean of L of a line that is there beyond doubt


def objection_to(run: Run, recording: Recording, edge_hz: float) -> str | None:
    """Give the key of what speaks against a run of a handpiece, None where nothing does.

    Parameters
    ----------
    run : Run
    recording : Recording
    edge_hz : float
        Above it no line can be measured against a floor.
    """
    if _trembles(run):
        return "several_tones"
    if run.mean_hz > SLOW_HZ:
        return None
    spectra = spectra_of(
        recording.samples,
        recording.rate_hz,
        window_s=_LONG_WINDOW_S,
        hop_s=_LONG_WINDOW_S / 4.0,
        highest_hz=10.0 * run.mean_hz,
        start_s=run.start_s,
        stop_s=run.release_s,
    )
    inside = np.flatnonzero(
        (spectra.time_s > run.start_s + 0.25 * _LONG_WINDOW_S)
        & (spectra.time_s < run.release_s - 0.25 * _LONG_WINDOW_S)
    )
    if inside.size < 2:
        return None
    at_s = np.concatenate([piece.time_s for piece in run.pieces])
    along = Plateau(inside, np.interp(spectra.time_s[inside], at_s, run.rotation_hz), 0.0)
    lines = likelihoods(spectra, edge_hz)
    if run.mean_hz < _HALF_UNSEEN_HZ and _has_slower(along, lines, spectra.bin_hz):
        return "too_slow"
    return "several_tones" if _has_close_rival(along, spectra, lines) else None


def _trembles(run: Run) -> bool:
    """Tell a tone whose pitch trembles as that of a sung or bowed note does."""
    track = max(run.pieces, key=lambda piece: piece.time_s.size)
    line = np.polynomial.Polynomial.fit(track.time_s, track.rotation_hz, 1)
    ripple = track.rotation_hz / line(track.time_s) - 1.0
    power = np.abs(np.fft.rfft(ripple * np.hanning(ripple.size))) ** 2
    at_hz = np.fft.rfftfreq(ripple.size, track.step_s)
    inside = np.flatnonzero((at_hz >= _TREMBLE_HZ[0]) & (at_hz <= _TREMBLE_HZ[1]))
    if inside.size == 0:
        return False
    noise = float(np.mean(track.sd_hz**2)) / run.mean_hz**2
    depth, total = float(np.var(ripple)), float(power.sum())
    is_broad = depth - noise > _LEAST_TREMBLE**2 and float(power[inside].sum()) > 0.5 * total
    # One rate alone is told at a smaller depth: the steps of a slow shaft blunt it.
    peak = inside[int(np.argmax(power[inside]))]
    at_one_rate = float(power[max(peak - 1, 0) : peak + 2].sum()) > _ONE_RATE * total
    return is_broad or (at_one_rate and depth > _LEAST_AT_ONE_RATE**2)


def _has_slower(along: Plateau, lines: NDArray[np.float32], bin_hz: float) -> bool:
    """Tell a shaft that is but the second to fourth line of a slower one."""
    speed_hz = along.median_hz
    claim = claim_of(
        along, lines, lines, bin_hz, low_hz=0.0, high_hz=1.01 * speed_hz, is_known=True
    )
    return claim.plateau.median_hz < 0.9 * speed_hz


def _has_close_rival(along: Plateau, spectra: Spectra, lines: NDArray[np.float32]) -> bool:
    """Tell another line so close to line 1 that the search took both for one."""
    own = np.rint(along.rotation_hz / spectra.bin_hz).astype(np.int64)
    reach = int(_UNSEEN_BINS / (WINDOW_S * spectra.bin_hz))
    offsets = np.arange(-reach, reach + 1)
    at = own[:, None] + offsets
    seen = (at >= 0) & (at < lines.shape[1])
    at = np.clip(at, 0, lines.shape[1] - 1)
    power = np.where(seen, spectra.power[along.frames[:, None], at], 0.0).mean(axis=0)
    level = np.where(seen, lines[along.frames[:, None], at], 0.0).mean(axis=0)
    is_own = np.abs(offsets) <= _OWN_BINS
    rivals = ~is_own & (level > _HEARD)
    return bool(np.any(power[rivals] > _CLOSE_RIVAL * power[is_own].max()))
