"""A stretch of a recording in which the angle of the shaft is known at every instant."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from turnwell.sound.segment import SegmentKind

__all__ = ["Turning"]


@dataclass(frozen=True, slots=True, eq=False)
class Turning:
    """A stretch in which the shaft's rotation frequency is known.

    Parameters
    ----------
    kind : SegmentKind
        Steady running or coast-down.
    time_s : array, shape (n,)
        Instants of the recording, rising; n >= 2.
    rotation_hz, sd_hz : arrays, shape (n,)
        Rotation frequency of the shaft that is heard, straight between instants, and its standard
        deviation.
    """

    kind: SegmentKind
    time_s: NDArray[np.float64]
    rotation_hz: NDArray[np.float64]
    sd_hz: NDArray[np.float64]
