"""From a recording and the angle of its shaft to order spectra, of the sound and of its envelope.

How much is looked at is bounded: of steady running the last few seconds of the longest stretch, of
coast-downs the three with most turns, each up to 2^19 samples.

An envelope needs a band of carriers well above what modulates it. It is taken only where the shaft
turns so slowly that the highest octave of the recording shows four orders at least. There it alone
judges a bearing: the sound itself then holds lines of sound bearings too, whose balls pass a load
that never is quite even, while only impacts ring what lies far above. Where the shaft turns faster
there is no such band and the lines of the sound itself are all there is.
"""

from collections.abc import Sequence
from dataclasses import replace
from math import ceil

import numpy as np
from numpy.typing import NDArray

from turnwell.sound.orders.angle import Sound, Turned, clipped, turned, turns_of
from turnwell.sound.orders.envelope import octaves_below, squared_envelope
from turnwell.sound.orders.spectrum import Kind, OrderSpectrum, averaged
from turnwell.sound.segment import SegmentKind
from turnwell.sound.speed.turning import Turning

__all__ = ["spectra_of_turns"]

_KINDS = (SegmentKind.STEADY, SegmentKind.COAST_DOWN)
_MOST_SAMPLES = 1 << 19
_MOST_TURNS = 1 << 14
_MOST_STRETCHES = 3
_GAP_S = 0.1
_STILL = 0.02
# A speed that may be off by more than this puts no line on its order.
_LEAST_KNOWN = 5e-3
HIGHEST_ORDER = 20.0
_ENVELOPE_ORDERS = 4.0
# In a band of width B the squared envelope of noise falls off towards B; half of it is clear.
_ENVELOPE_SHARE = 0.5
_SLOWEST_CARRIER = 8.0
_SPARE = 1.2


def spectra_of_turns(
    samples: NDArray[np.float32], rate_hz: float, stretches: Sequence[Turning], edge_hz: float
) -> tuple[OrderSpectrum, ...]:
    """Give the order spectra of all stretches of a recording, pooled by kind.

    Parameters
    ----------
    samples, rate_hz
        The recording.
    stretches : sequence of Turning
    edge_hz : float
        Highest frequency that the coding passes undamaged.
    """
    sound = Sound(samples, rate_hz)
    spectra: list[OrderSpectrum | None] = []
    for kind in _KINDS:
        chosen = _chosen([s for s in stretches if s.kind is kind], rate_hz)
        if chosen:
            spectra.append(_direct(sound, chosen, edge_hz))
            spectra += _envelopes(sound, chosen, edge_hz)
    return tuple(spectrum for spectrum in spectra if spectrum is not None)


def _chosen(stretches: list[Turning], rate_hz: float) -> list[Turning]:
    """Keep the stretches with most turns whose speed is known well, cut to a bounded length."""
    turning = [part for s in stretches if (part := _turning_part(s)) is not None]
    known = [s for s in turning if float(np.median(s.sd_hz / s.rotation_hz)) <= _LEAST_KNOWN]
    by_turns = sorted(_merged(known), key=lambda s: -float(turns_of(s)[-1]))
    chosen = []
    for stretch in by_turns[:_MOST_STRETCHES]:
        longest_s, end_s = _MOST_SAMPLES / rate_hz, float(stretch.time_s[-1])
        if stretch.kind is SegmentKind.STEADY:
            # The last before the release, when everything is warm and the speed has settled.
            turns = turns_of(stretch)
            first_s = float(np.interp(turns[-1] - _MOST_TURNS, turns, stretch.time_s))
            cut = clipped(stretch, max(first_s, end_s - longest_s), end_s)
        else:
            cut = clipped(stretch, 0.0, float(stretch.time_s[0]) + longest_s)
        if cut is not None:
            chosen.append(cut)
            if stretch.kind is SegmentKind.STEADY:
                break
    return chosen


def _turning_part(stretch: Turning) -> Turning | None:
    """Cut a stretch where the shaft all but stands still."""
    speed = stretch.rotation_hz
    still = np.flatnonzero(speed <= _STILL * float(speed.max()))
    count = int(still[0]) if still.size else speed.size
    if count < 2:
        return None
    return Turning(stretch.kind, stretch.time_s[:count], speed[:count], stretch.sd_hz[:count])


def _merged(stretches: list[Turning]) -> list[Turning]:
    """Join steady stretches that follow one another with hardly a gap."""
    merged: list[Turning] = []
    for stretch in sorted(stretches, key=lambda s: float(s.time_s[0])):
        before = merged[-1] if merged else None
        gap_s = np.inf if before is None else float(stretch.time_s[0] - before.time_s[-1])
        if before is None or stretch.kind is not SegmentKind.STEADY or not 0.0 < gap_s < _GAP_S:
            merged.append(stretch)
            continue
        merged[-1] = Turning(
            before.kind,
            np.concatenate([before.time_s, stretch.time_s]),
            np.concatenate([before.rotation_hz, stretch.rotation_hz]),
            np.concatenate([before.sd_hz, stretch.sd_hz]),
        )
    return merged


def _direct(sound: Sound, stretches: list[Turning], edge_hz: float) -> OrderSpectrum | None:
    limit_hz = _carrier_limit_hz(edge_hz)
    fast = [part for s in stretches if (part := _fast_part(s, limit_hz)) is not None]
    kept = fast or stretches
    slowest = min(float(s.rotation_hz.min()) for s in kept)
    highest = min(HIGHEST_ORDER, edge_hz / slowest)
    spectrum = _averaged([sound] * len(kept), kept, Kind.DIRECT, highest, edge_hz)
    return None if spectrum is None else replace(spectrum, judges=bool(fast))


def _carrier_limit_hz(edge_hz: float) -> float:
    """Rotation frequency up to which the highest octave carries the orders wanted."""
    return _ENVELOPE_SHARE * 0.5 * edge_hz / _ENVELOPE_ORDERS


def _envelopes(
    sound: Sound, stretches: list[Turning], edge_hz: float
) -> list[OrderSpectrum | None]:
    """Give the spectrum of the squared envelope of each octave, where the shaft is slow enough."""
    limit_hz = _carrier_limit_hz(edge_hz)
    slow = [part for s in stretches if (part := _slow_part(s, limit_hz)) is not None]
    if not slow:
        return []
    slowest = min(float(s.rotation_hz.min()) for s in slow)
    spectra = []
    for band in octaves_below(edge_hz, _SLOWEST_CARRIER * slowest):
        clear_hz = _ENVELOPE_SHARE * (band[1] - band[0])
        heard = [
            squared_envelope(sound, band, float(s.time_s[0]), float(s.time_s[-1])) for s in slow
        ]
        highest = min(HIGHEST_ORDER, clear_hz / slowest)
        spectrum = _averaged(heard, slow, Kind.ENVELOPE, highest, clear_hz)
        spectra.append(None if spectrum is None else replace(spectrum, band_hz=band))
    return spectra


def _slow_part(stretch: Turning, fastest_hz: float) -> Turning | None:
    """Give the part in which the shaft turns no faster than a limit, to the stretch's end."""
    fast = np.flatnonzero(stretch.rotation_hz > fastest_hz)
    if fast.size == 0:
        return stretch
    if fast[-1] + 1 >= stretch.time_s.size - 1:
        return None
    return clipped(stretch, float(stretch.time_s[fast[-1] + 1]), float(stretch.time_s[-1]))


def _fast_part(stretch: Turning, slowest_hz: float) -> Turning | None:
    """Give the part from the stretch's beginning in which the shaft turns faster than a limit."""
    slow = np.flatnonzero(stretch.rotation_hz <= slowest_hz)
    if slow.size == 0:
        return stretch
    if slow[0] < 2:
        return None
    return clipped(stretch, float(stretch.time_s[0]), float(stretch.time_s[slow[0] - 1]))


def _averaged(
    sounds: list[Sound],
    stretches: list[Turning],
    kind: Kind,
    highest_order: float,
    edge_hz: float,
) -> OrderSpectrum | None:
    per_turn = 2 * ceil(_SPARE * highest_order)
    pieces: list[Turned] = [
        turned(sound, s, per_turn=per_turn, highest_order=highest_order, edge_hz=edge_hz)
        for sound, s in zip(sounds, stretches, strict=True)
    ]
    return averaged(
        pieces,
        stretch=stretches[0].kind,
        kind=kind,
        highest_order=highest_order,
        edge_hz=edge_hz,
        speed_error=max(float(np.median(s.sd_hz / s.rotation_hz)) for s in stretches),
    )
