"""What is wrong with a recording, which answers that takes away, and what to do about it."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from turnwell.sound.recording import Recording
from turnwell.sound.spectra import Spectra
from turnwell.words import Message, text_of

__all__ = ["GateFinding", "codec_edge_hz", "gate_of"]

SPEED, LEVEL, CONDITION, COAST = "speed", "level", "condition", "coast_down"

_SHORTEST_S = 0.3
_SILENT = 2e-5
_QUIET = 3e-3
_CLIPPED_SHARE = 1e-3
_EDGE_DROP = 2.8  # of log power: 12 dB
_HOLES_SHARE = 0.02


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
    """Share of samples that lie flat at the largest or smallest value."""
    if samples.size == 0 or max(-low, high) < 0.05:
        return 0.0
    top, bottom = float(samples.max()), float(samples.min())
    at_rail = (samples >= top - 2e-4 * abs(top)) | (samples <= bottom + 2e-4 * abs(bottom))
    # A flat top is two samples or more in a row; single ones are honest peaks.
    flat = at_rail[1:] & at_rail[:-1]
    return float(np.count_nonzero(flat)) / samples.size


def _has_holes(spectra: Spectra, edge_hz: float) -> bool:
    """Tell whether many bins below the edge are exactly empty while others are not."""
    if len(spectra.power) < 4:
        return False
    last = int(0.9 * min(edge_hz, spectra.highest_hz) / spectra.bin_hz)
    part = spectra.power[:, 8 : max(last, 9)]
    loudest = part.max(axis=1, keepdims=True)
    # A pure tone without noise is empty nearly everywhere; no suppression leaves so much nothing.
    heard = (loudest[:, 0] > 1e-6) & (np.median(part, axis=1) > 1e-10 * loudest[:, 0])
    if not np.any(heard):
        return False
    return bool(np.mean(part[heard] < 1e-13 * loudest[heard]) > _HOLES_SHARE)
