"""Finds the frequency above which a lossy coding, or a filter, let nothing pass."""

import numpy as np

from turnwell.sound.speed.spectra import Spectra

__all__ = ["codec_edge_hz"]

_DROP = 2.8  # of log power: 12 dB
_WIDTH_HZ = 600.0
_LOWEST_HZ = 1_500.0


def codec_edge_hz(spectra: Spectra, rate_hz: float) -> float:
    """Give the frequency above which the coding let nothing pass; half the rate when there is none.

    The noise floor, averaged over time, falls by 12 dB or more within 1.2 kHz there and stays down.
    """
    half = 0.5 * rate_hz
    if len(spectra.time_s) == 0:
        return half
    step = max(len(spectra.time_s) // 200, 1)
    level = np.log(spectra.bands.floor_of(slice(None, None, step))).mean(axis=0)
    width = max(int(_WIDTH_HZ / spectra.bin_hz), 2)
    if level.size < 6 * width:
        return half
    mean = np.convolve(level, np.ones(width) / width, mode="valid")
    drop = mean[: -2 * width] - mean[2 * width :]
    # A band that stays down: nothing above the edge comes back to within 12 dB.
    comes_back = np.maximum.accumulate(mean[::-1])[::-1]
    stays = mean[: -2 * width] - comes_back[2 * width :] > _DROP
    steep = np.flatnonzero((drop > _DROP) & stays)
    steep = steep[steep * spectra.bin_hz > _LOWEST_HZ]
    if steep.size == 0:
        return half
    at = int(steep[np.argmax(drop[steep])])
    return float(min((at + 1.5 * width) * spectra.bin_hz, half))
