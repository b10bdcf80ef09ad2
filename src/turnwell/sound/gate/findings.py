"""What is wrong with a recording, which answers that takes away, and what to do about it."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from turnwell.sound.gate.clipping import clipped_share
from turnwell.sound.gate.steps import coarse_steps
from turnwell.sound.gate.suppression import flutter_db, spread_db
from turnwell.sound.recording import Recording
from turnwell.sound.speed.spectra import Spectra
from turnwell.words import Message, text_of

__all__ = ["COAST", "CONDITION", "LEVEL", "SPEED", "GateFinding", "gate_of"]

SPEED, LEVEL, CONDITION, COAST = "speed", "level", "condition", "coast_down"

_SHORTEST_S = 0.3
_SILENT = 2e-5
_QUIET = 3e-3
_CLIPPED_SHARE = 1e-3
_HIGHEST_EDGE_HZ = 20_000.0
_WIDEST_SPREAD_DB = 14.0
_MOST_FLUTTER_DB = 5.9


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
        From `gate.edge.codec_edge_hz`.
    """
    found = list(_loudness(recording))
    if recording.duration_s < _SHORTEST_S:
        found.append(
            _finding("too_short", SPEED, COAST, CONDITION, duration_s=recording.duration_s)
        )
    if not recording.complete:
        found.append(_finding("broken_off"))
    if edge_hz < 0.45 * recording.rate_hz and edge_hz < _HIGHEST_EDGE_HZ:
        found.append(_finding("codec_edge", CONDITION, edge_khz=edge_hz / 1_000.0))
    is_spread = spread_db(spectra, edge_hz) > _WIDEST_SPREAD_DB
    if is_spread and flutter_db(spectra, edge_hz) > _MOST_FLUTTER_DB:
        found.append(_finding("noise_suppressed", CONDITION, LEVEL))
    return tuple(found)


def _loudness(recording: Recording) -> Iterator[GateFinding]:
    """Find what is wrong with the samples' size; of silence nothing else is said."""
    samples = recording.samples
    low, high = _extent(samples)
    if high - low < 2.0 * _SILENT:
        yield _finding("silent", SPEED, COAST, CONDITION, LEVEL)
        return
    if max(-low, high) < _QUIET:
        yield _finding("quiet", CONDITION, peak=max(-low, high))
    steps = coarse_steps(samples)
    if steps is not None:
        yield _finding("coarse", CONDITION, LEVEL, steps=steps)
    share = clipped_share(samples, recording.codec)
    if share > _CLIPPED_SHARE:
        yield _finding("clipped", CONDITION, LEVEL, share=100.0 * share)


def _finding(key: str, *takes_away: str, **params: float) -> GateFinding:
    return GateFinding(key, Message(f"sound.gate.{key}", params), takes_away)


def _extent(samples: NDArray[np.float32]) -> tuple[float, float]:
    if samples.size == 0:
        return 0.0, 0.0
    middle = float(samples.mean(dtype=np.float64))
    return float(samples.min()) - middle, float(samples.max()) - middle
