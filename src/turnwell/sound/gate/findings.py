"""What is wrong with a recording, which answers that takes away, and what to do about it."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from turnwell.sound.recording import Recording
from turnwell.sound.speed.spectra import Spectra
from turnwell.words import Message, text_of

__all__ = ["GateFinding", "codec_edge_hz", "gate_of"]

SPEED, LEVEL, CONDITION, COAST = "speed", "level", "condition", "coast_down"

_SHORTEST_S = 0.3
_SILENT = 2e-5
_QUIET = 3e-3
_CLIPPED_SHARE = 1e-3
_EDGE_DROP = 2.8  # of log power: 12 dB
_HOLES_SHARE = 0.02
_HOLE_BAND = 64
_HOLE_DEPTH = 1e-4
_RAIL = 1e-3
_PILED_UP = 4.0
_FULL_SCALE = 0.98


@dataclass(frozen=True, slots=True)
class GateFinding:
    """One thing wrong with a recording.

    Parameters
    ----------
    key : str
        ``"clipped"``, ``"quiet"``, ``"codec_edge"``, ...
    message : Message
        What it is and what to do about it.
    takes_away : tuple of str
        Answers that cannot be had from this recording: speed, coast_down, condition, level.
    """

    key: str
    message: Message
    takes_away: tuple[str, ...]

    def as_dict(self, language: str = "en") -> dict[str, Any]:
        """Give the finding as JSON values."""
        return {
            "key": self.key,
            "message": text_of(self.message, language),
            "takes_away": list(self.takes_away),
        }


def gate_of(recording: Recording, spectra: Spectra, edge_hz: float) -> tuple[GateFinding, ...]:
    """Look a recording over before it is believed.

    Parameters
    ----------
    recording : Recording
    spectra : Spectra
        Long spectra of it.
    edge_hz : float
        From `codec_edge_hz`.
    """
    found: list[GateFinding] = []
    samples = recording.samples
    low, high = _extent(samples)
    if high - low < 2.0 * _SILENT:
        found.append(_finding("silent", SPEED, COAST, CONDITION, LEVEL))
    elif max(-low, high) < _QUIET:
        found.append(_finding("quiet", CONDITION, peak=max(-low, high)))
    if recording.duration_s < _SHORTEST_S:
        found.append(
            _finding("too_short", SPEED, COAST, CONDITION, duration_s=recording.duration_s)
        )
    if not recording.complete:
        found.append(_finding("broken_off"))
    share = _clipped_share(samples, low, high)
    if share > _CLIPPED_SHARE:
        found.append(_finding("clipped", CONDITION, LEVEL, share=100.0 * share))
    if edge_hz < 0.45 * recording.rate_hz and edge_hz < 20_000.0:
        found.append(_finding("codec_edge", CONDITION, edge_khz=edge_hz / 1_000.0))
    if _has_holes(spectra, edge_hz):
        found.append(_finding("noise_suppressed", CONDITION, LEVEL))
    return tuple(found)


def codec_edge_hz(spectra: Spectra, rate_hz: float) -> float:
    """Give the frequency above which the coding let nothing pass; half the rate when there is none.

    The noise floor, averaged over time, falls by 12 dB or more within 1.2 kHz there and stays down.
    """
    half = 0.5 * rate_hz
    if len(spectra.power) == 0:
        return half
    step = max(len(spectra.floor) // 200, 1)
    level = np.log(spectra.floor[::step]).mean(axis=0)
    width = max(int(600.0 / spectra.bin_hz), 2)
    if level.size < 6 * width:
        return half
    mean = np.convolve(level, np.ones(width) / width, mode="valid")
    drop = mean[: -2 * width] - mean[2 * width :]
    # A band that stays down: nothing above the edge comes back to within 12 dB.
    comes_back = np.maximum.accumulate(mean[::-1])[::-1]
    stays = mean[: -2 * width] - comes_back[2 * width :] > _EDGE_DROP
    steep = np.flatnonzero((drop > _EDGE_DROP) & stays)
    steep = steep[steep * spectra.bin_hz > 1_500.0]
    if steep.size == 0:
        return half
    at = int(steep[np.argmax(drop[steep])])
    return float(min((at + 1.5 * width) * spectra.bin_hz, half))


def _finding(key: str, *takes_away: str, **params: float) -> GateFinding:
    return GateFinding(key, Message(f"sound.gate.{key}", params), takes_away)


def _extent(samples: NDArray[np.float32]) -> tuple[float, float]:
    if samples.size == 0:
        return 0.0, 0.0
    middle = float(samples.mean(dtype=np.float64))
    return float(samples.min()) - middle, float(samples.max()) - middle


def _clipped_share(samples: NDArray[np.float32], low: float, high: float) -> float:
    """Give the share of samples that pile up at the largest or smallest value; 0 when none do.

    A pure tone is dense near its peak too, 2.4 times as dense as just below; a cut-off one is many
    times as dense. Below full scale flat tops, two samples or more in a row, must be seen as well.
    """
    if samples.size == 0 or max(-low, high) < 0.05:
        return 0.0
    top = float(np.abs(samples).max())
    size = np.abs(samples)
    at_rail = size >= top * (1.0 - _RAIL)
    count = np.count_nonzero(at_rail)
    below = np.count_nonzero(size >= top * (1.0 - 2.0 * _RAIL)) - count
    flat = np.count_nonzero(at_rail[1:] & at_rail[:-1])
    if count < _PILED_UP * below or (top < _FULL_SCALE and flat < 0.2 * count):
        return 0.0
    return count / samples.size


def _has_holes(spectra: Spectra, edge_hz: float) -> bool:
    """Tell whether many bins below the edge are empty while their neighbours are not."""
    last = int(0.9 * min(edge_hz, spectra.highest_hz) / spectra.bin_hz)
    bands = (last - 8) // _HOLE_BAND
    step = max(len(spectra.power) // 60, 1)
    frames = spectra.power[::step]
    if bands < 1 or len(frames) == 0:
        return False
    part = frames[:, 8 : 8 + bands * _HOLE_BAND].reshape(len(frames), bands, _HOLE_BAND)
    rank = int(0.9 * _HOLE_BAND)
    usual = np.partition(part, rank, axis=2)[:, :, rank : rank + 1]
    # A pure tone without noise leaves nothing anywhere; that is no hole.
    heard = usual > 1e-9 * part.max(axis=(1, 2), keepdims=True)
    empty = (part < _HOLE_DEPTH * usual) & heard
    return bool(
        int(np.count_nonzero(empty))
        > _HOLES_SHARE * _HOLE_BAND * max(int(np.count_nonzero(heard)), 1)
    )
