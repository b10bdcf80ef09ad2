"""A recording: one channel of samples with its rate and where it came from."""

from dataclasses import dataclass
from math import isfinite
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from turnwell.errors import InputError

__all__ = ["HIGHEST_RATE_HZ", "LOUDEST", "LOWEST_RATE_HZ", "Recording", "recording_of"]

LOWEST_RATE_HZ = 4_000
HIGHEST_RATE_HZ = 768_000
LOUDEST = 100.0  # 40 dB over full scale: beyond it the samples are in another unit, or rubbish


@dataclass(frozen=True, slots=True, eq=False)
class Recording:
    """Sound as it was received, one channel of it.

    Parameters
    ----------
    samples : array of float32, shape (n,)
        Full scale is -1 to 1; finite.
    rate_hz : float
        Samples per second.
    codec : str
        Name of the coding the samples came in: ``"pcm_s16le"``, ``"aac"``.
    channels : int
        Channels of the file; the strongest one is kept.
    sha256 : str
        Hash of the file's bytes; of the samples when there was no file.
    history : tuple of str
        What was done to it, oldest first.
    complete : bool
        False when the file broke off before its end.
    """

    samples: NDArray[np.float32]
    rate_hz: float
    codec: str
    channels: int
    sha256: str
    history: tuple[str, ...]
    complete: bool = True

    @property
    def duration_s(self) -> float:
        """Length in seconds."""
        return self.samples.size / self.rate_hz

    def as_dict(self) -> dict[str, Any]:
        """Give the facts of the recording as JSON values, without the samples."""
        return {
            "rate_hz": self.rate_hz,
            "duration_s": self.duration_s,
            "channels": self.channels,
            "codec": self.codec,
            "sha256": self.sha256,
            "complete": self.complete,
            "history": list(self.history),
        }


def recording_of(samples: ArrayLike, rate_hz: float, *, codec: str = "array") -> Recording:
    """Make a recording of samples that are at hand as numbers.

    Parameters
    ----------
    samples : array-like, shape (n,)
        Real and finite; full scale -1 to 1, at most 100.
    rate_hz : float
        Between 4 kHz and 768 kHz.
    codec : str
        What the samples came from, as the result will say.

    Raises
    ------
    InputError
        If a sample is not a finite number or beyond 100, the shape is wrong or the rate is out of
        range.

    Examples
    --------
    >>> recording_of([0.0] * 48_000, 48_000.0).duration_s
    1.0
    """
    from hashlib import sha256

    if not LOWEST_RATE_HZ <= rate_hz <= HIGHEST_RATE_HZ:
        raise InputError(
            f"rate_hz is {rate_hz}, must be {LOWEST_RATE_HZ} to {HIGHEST_RATE_HZ}; record at 48 kHz"
        )
    values = _as_floats(samples)
    if values.ndim != 1:
        raise InputError(f"samples have {values.ndim} dimensions, must have one; give one channel")
    # Not a number is larger than nothing and smaller than nothing: the maximum hands it on.
    largest = max(-float(values.min(initial=0.0)), float(values.max(initial=0.0)))
    if not isfinite(largest):
        raise InputError("samples hold values that are not finite numbers; record again")
    if largest > LOUDEST:
        raise InputError(
            f"samples reach {largest:,.6g}, full scale is 1 and at most {LOUDEST:g} is read; "
            "divide whole numbers by the largest one of their coding"
        )
    return Recording(
        samples=values,
        rate_hz=float(rate_hz),
        codec=codec,
        channels=1,
        sha256=sha256(values.data).hexdigest(),
        history=("samples given as numbers",),
    )


def _as_floats(samples: ArrayLike) -> NDArray[np.float32]:
    """Give samples as floats one after another in memory."""
    try:
        given = np.asarray(samples)
        if np.iscomplexobj(given):
            raise InputError("samples are complex numbers; give one channel of real ones")
        # What is too large for a float becomes infinite, and is refused as such.
        with np.errstate(over="ignore"):
            return np.asarray(given, dtype=np.float32, order="C")
    except (TypeError, ValueError) as error:
        if isinstance(error, InputError):
            raise
        raise InputError(f"samples are no list of numbers ({error}); give one channel") from error
