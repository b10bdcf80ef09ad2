"""Tells whether noise suppression, or strong coding, has opened and shut parts of the spectrum.

In noise the power of a bin is exponential about its floor, whatever the floor is: in a band of
bins a tenth lies below 0.105 and a tenth above 2.303 times the mean, 13.4 dB apart. Shut bins
among open ones, or open ones among shut ones, drive these quantiles apart.

So do many lines or sharp resonances of a machine, but those stay as they are, while a bin that is
shut and opened flutters: the level of noise scatters by 5.57 dB from spectrum to spectrum, that of
a line by less, that of a gated bin by more. Both marks are asked for.

References
----------
The quantiles of an exponential variable are -log(1 - p) times its mean; the standard deviation of
its logarithm is π/√6.
"""

import numpy as np

from turnwell.sound.speed.spectra import Spectra

__all__ = ["NATURAL_FLUTTER_DB", "NATURAL_SPREAD_DB", "flutter_db", "spread_db"]

NATURAL_SPREAD_DB = float(10.0 * np.log10(np.log(10.0) / -np.log(0.9)))
NATURAL_FLUTTER_DB = float(10.0 / np.log(10.0) * np.pi / np.sqrt(6.0))
_BAND = 64
_NEIGHBOURS, _FEWEST_NEIGHBOURS = 12, 6
_FRAMES = 60
_LOWEST_HZ = 2_000.0
_LOWEST_SHARE = 0.25  # of the edge: below lie the lines of a slow shaft, a voice and hum
_HIGHEST_SHARE = 0.9
_RANKS = (int(0.1 * _BAND), int(0.9 * _BAND))


def spread_db(spectra: Spectra, edge_hz: float) -> float:
    """Give the middle over bands and frames of how far apart loud and soft bins lie.

    Parameters
    ----------
    spectra : Spectra
    edge_hz : float
        Above it the coding let nothing pass.

    Returns
    -------
    float
        In dB; `NATURAL_SPREAD_DB` when there is too little to tell.
    """
    first, last = _clear_bins(spectra, edge_hz)
    bands = (last - first) // _BAND
    frames = spectra.power_of(slice(None, None, max(len(spectra.time_s) // _FRAMES, 1)))
    if bands < 1 or len(frames) == 0:
        return NATURAL_SPREAD_DB
    part = frames[:, first : first + bands * _BAND].reshape(-1, _BAND)
    # Where nothing but rounding is heard there is no noise to have been shut off.
    part = part[part.max(axis=1) > 1e-12 * float(spectra.loudest.max())]
    if len(part) == 0:
        return NATURAL_SPREAD_DB
    ranked = np.partition(part, _RANKS, axis=1)
    soft, loud = (np.maximum(ranked[:, rank], 1e-30) for rank in _RANKS)
    return float(10.0 * np.median(np.log10(loud / soft)))


def flutter_db(spectra: Spectra, edge_hz: float) -> float:
    """Give the middle over bins of how much the level scatters from spectrum to spectrum.

    Parameters
    ----------
    spectra : Spectra
    edge_hz : float
        Above it the coding let nothing pass.

    Returns
    -------
    float
        Standard deviation in dB among a dozen neighbouring spectra, so that what runs up or coasts
        down counts little; infinite when there are too few spectra to tell.
    """
    first, last = _clear_bins(spectra, edge_hz)
    count = min(_NEIGHBOURS, len(spectra.time_s))
    if count < _FEWEST_NEIGHBOURS or last <= first:
        return float("inf")
    stretches = len(spectra.time_s) // count
    step = max(stretches * count // (2 * _FRAMES), 1)
    chosen = np.arange(stretches * count).reshape(stretches, count)[::step]
    power = spectra.power_of(chosen.ravel())[:, first:last].reshape(*chosen.shape, -1)
    level_db = 10.0 * np.log10(np.maximum(power, 1e-30))
    return float(np.median(level_db.std(axis=1)))


def _clear_bins(spectra: Spectra, edge_hz: float) -> tuple[int, int]:
    """Give the first bin to look at, and the one behind the last."""
    highest_hz = min(edge_hz, spectra.highest_hz)
    first = int(max(_LOWEST_HZ, _LOWEST_SHARE * highest_hz) / spectra.bin_hz)
    return first, int(_HIGHEST_SHARE * highest_hz / spectra.bin_hz)
