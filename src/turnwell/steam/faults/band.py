"""Below the band, above the band, held too short: judged only where the plan says the band."""

import numpy as np
from numpy.typing import NDArray

from turnwell.steam.crossing import Span, longest, spans_within
from turnwell.steam.fault import Fault, FaultKey
from turnwell.steam.faults.signs import Signs
from turnwell.steam.stage import Ending, Sure
from turnwell.words import Message, Param

__all__ = ["band_faults"]

# Time held is known to a row and a few seconds of control; a dip or peak must last this long.
HOLD_SHARE = 0.02
LEAST_S = 3.0
# Rows farther apart than this show a peak of a few seconds by one row.
SEEN_S = 5.0
# Settling and the first fall of the exhaust, where the plateau's own bounds are a little wide.
EDGE_S = 20.0


def band_faults(signs: Signs, *, offset_k: float = 0.0) -> tuple[Fault, ...]:
    """Give what is wrong with the time and temperature of the plateau.

    Parameters
    ----------
    signs : Signs
    offset_k : float
        Of the temperature sensor, where one was recognised.
    """
    band = signs.cycle.band_c
    if band is None:
        return ()
    bound = signs.sensors.temperature_k + 0.5 * signs.step_k
    # An offset excuses what it explains; it never makes a fault of a reading inside the band.
    low_c = band[0] - bound + min(offset_k, 0.0)
    high_c = band[1] + bound + max(offset_k, 0.0)
    found = [
        _outside(signs, FaultKey.BELOW_BAND, band[0], -np.inf, low_c),
        _outside(signs, FaultKey.ABOVE_BAND, band[1], high_c, np.inf),
        _short(signs, low_c),
    ]
    return tuple(fault for fault in found if fault is not None)


def _outside(
    signs: Signs, key: FaultKey, edge_c: float, low_c: float, high_c: float
) -> Fault | None:
    """Find a stretch beyond the band by more than the sensor's bound."""
    # Too hot is too hot wherever it stands; below the band lies all the rest of a run.
    is_above = key is FaultKey.ABOVE_BAND
    rows = slice(0, signs.record.time_s.size) if is_above else signs.holding
    if rows is None:
        return None
    times, values = signs.record.time_s[rows], signs.temperature_c[rows]
    spans = spans_within(times, values, np.nextafter(low_c, np.inf), np.nextafter(high_c, -np.inf))
    spans = tuple(span for span in spans if not _is_edge(span, times))
    # Between rows far apart a row stands for its step, whatever a line to its neighbours says.
    least_s = signs.record.interval_s if signs.record.interval_s > SEEN_S else 0.0
    total_s = sum(max(span.duration_s, least_s) for span in spans)
    worst = longest(spans)
    if worst is None or total_s < LEAST_S:
        return None
    extreme = float(np.nanmin(values) if key is FaultKey.BELOW_BAND else np.nanmax(values))
    params: dict[str, Param] = {
        "extreme_c": extreme,
        "edge_c": edge_c,
        "total_s": total_s,
        "bound_k": signs.sensors.temperature_k,
    }
    return Fault(
        key,
        Message(f"steam_fault.{key.value}", params),
        Sure.CLEAR,
        worst.start_s,
        worst.stop_s,
    )


def _is_edge(span: Span, times: NDArray[np.float64]) -> bool:
    """Whether a stretch is the plateau's own beginning or end; never reached is none of these."""
    starts, stops = span.start_s <= times[0], span.stop_s >= times[-1]
    return bool(starts != stops and span.duration_s < EDGE_S)


def _short(signs: Signs, low_c: float) -> Fault | None:
    """Hold the time from reaching the band to leaving it, dips included, against the plan."""
    hold_s, rows = signs.cycle.hold_s, signs.holding
    if hold_s is None or rows is None or signs.course.ending is Ending.POWER_CUT:
        return None
    held = _held(signs, low_c)
    if held is None:
        return None
    allowed = hold_s * (1.0 - HOLD_SHARE) - signs.record.interval_s
    if held.duration_s >= allowed:
        return None
    params: dict[str, Param] = {"held_s": held.duration_s, "hold_s": hold_s}
    return Fault(
        FaultKey.HOLD_SHORT,
        Message("steam_fault.hold_short", params),
        Sure.CLEAR,
        held.start_s,
        held.stop_s,
    )


def _held(signs: Signs, low_c: float) -> Span | None:
    """Give the time from first reaching the band to last leaving it; None where never reached."""
    spans = spans_within(signs.record.time_s, signs.temperature_c, low_c, np.inf)
    if not spans:
        return None
    return Span(spans[0].start_s, spans[-1].stop_s)
