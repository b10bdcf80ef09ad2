"""Tells whether samples were cut off at the largest value the recorder knows.

Cut-off samples pile up at the rail. A lossy coder behind the clipping smears that pile and leaves
peaks above full scale, which a sound that fitted into full scale gives only here and there.
"""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

__all__ = ["clipped_share"]

_FAINTEST = 0.05  # below it nothing is called cut off
_RAIL = 1e-3
_PILED_UP = 4.0
_FEWEST = 8
_FULL_SCALE = 0.98
_FLAT = 0.2
_AT_ONCE = 1 << 20
_EXACT = ("array", "pcm_", "flac", "alac", "wavpack", "tta", "ape")


def clipped_share(samples: NDArray[np.float32], codec: str = "array") -> float:
    """Give the share of samples that are cut off; 0 when none are.

    Parameters
    ----------
    samples : array, shape (n,)
        Full scale -1 to 1; decoded ones may go beyond.
    codec : str
        What they came in, as `Recording.codec` names it. Exact codings keep a flat top flat; behind
        a lossy one about half of what was cut off comes out above full scale.

    Notes
    -----
    A pure tone is dense near its peak too, 2.4 times as dense as just below; a cut-off one is many
    times as dense. Below full scale flat tops, two samples or more in a row, must be seen as well.
    What was clipped, coded and then turned down is not seen.

    Examples
    --------
    >>> tone = 0.9 * np.sin(np.arange(4_800) * 0.7).astype(np.float32)
    >>> clipped_share(tone)
    0.0
    >>> round(clipped_share(np.clip(2.0 * tone, -1.0, 1.0)), 2)
    0.62
    """
    if samples.size == 0:
        return 0.0
    top = max(float(samples.max()), -float(samples.min()))
    if top < _FAINTEST:
        return 0.0
    if top > 1.0 and not codec.startswith(_EXACT):
        beyond = sum(np.count_nonzero(np.abs(part) > 1.0) for part in _parts(samples))
        return min(2.0 * float(beyond) / samples.size, 1.0)
    count = below = flat = 0
    was_at_rail = False
    for part in _parts(samples):
        size = np.abs(part)
        at_rail = size >= top * (1.0 - _RAIL)
        count += int(np.count_nonzero(at_rail))
        below += int(np.count_nonzero(size >= top * (1.0 - 2.0 * _RAIL)))
        flat += int(np.count_nonzero(at_rail[1:] & at_rail[:-1])) + int(was_at_rail and at_rail[0])
        was_at_rail = bool(at_rail[-1])
    below -= count
    if count < max(_PILED_UP * below, _FEWEST) or (top < _FULL_SCALE and flat < _FLAT * count):
        return 0.0
    return count / samples.size


def _parts(samples: NDArray[np.float32]) -> Iterator[NDArray[np.float32]]:
    """Yield the samples bit by bit: what is asked of them takes as much memory as they do."""
    for begin in range(0, samples.size, _AT_ONCE):
        yield samples[begin : begin + _AT_ONCE]
