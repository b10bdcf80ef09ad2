"""From a recording and what is known of the handpiece to a `Listening`."""

import numpy as np
from numpy.typing import NDArray

from turnwell.sound.coast.times import coast_down_readings
from turnwell.sound.expectation import SLOWEST_RPM, Expectation
from turnwell.sound.gate.findings import GateFinding, codec_edge_hz, gate_of
from turnwell.sound.gate.gain import gain_riding
from turnwell.sound.listening import Facts, Listening, Track
from turnwell.sound.recording import Recording
from turnwell.sound.segment import Segment, SegmentKind
from turnwell.sound.speed.finding import Found, find_runs
from turnwell.sound.speed.plateaus import HOP_S, WINDOW_S
from turnwell.sound.speed.readings import no_speed, readings_of, shown_factor
from turnwell.sound.speed.runs import Run
from turnwell.sound.speed.spectra import spectra_of
from turnwell.units import hz_to_rpm
from turnwell.words import Message

__all__ = ["analyse"]

Floats = NDArray[np.float64]

_HIGHEST_HZ = 27_000.0
_EDGE_SLOPE_HZ = 700.0
_REFUSALS = ("fold", "hum", "several_tones", "not_steady", "too_slow", "too_short")


def analyse(recording: Recording, expectation: Expectation | None = None) -> Listening:
    """Listen to a recording: the speed, the segments, and what cannot be told.

    Parameters
    ----------
    recording : Recording
    expectation : Expectation or None
        What is known of the handpiece; nothing when None.

    Examples
    --------
    >>> import numpy as np
    >>> from turnwell.sound import analyse, recording_of
    >>> time_s = np.arange(48_000) / 48_000.0
    >>> noise = 0.01 * np.random.default_rng(1).standard_normal(48_000)
    >>> tone = recording_of(0.3 * np.sin(2 * np.pi * 6_666.7 * time_s) + noise, 48_000.0)
    >>> round(analyse(tone).readings[0].value, -1)
    400000.0
    """
    expectation = expectation or Expectation()
    spectra = spectra_of(
        recording.samples,
        recording.rate_hz,
        window_s=WINDOW_S,
        hop_s=HOP_S,
        highest_hz=min(_HIGHEST_HZ, 0.49 * recording.rate_hz),
    )
    edge_hz = codec_edge_hz(spectra, recording.rate_hz)
    gate = gate_of(recording, spectra, edge_hz)
    # The slope of an edge, a codec's or a converter's, holds no floor to measure a line against.
    clear_hz = min(edge_hz - _EDGE_SLOPE_HZ, 0.45 * recording.rate_hz)
    if edge_hz >= 0.45 * recording.rate_hz:
        clear_hz = 0.45 * recording.rate_hz
    found = find_runs(recording, spectra, clear_hz, expectation)
    runs = found.runs
    factor = shown_factor(expectation, _speed_hz(runs))
    facts = Facts(
        recording.rate_hz,
        recording.duration_s,
        recording.channels,
        recording.codec,
        recording.sha256,
    )
    gate += gain_riding(spectra, _ends_s(runs, recording.duration_s), edge_hz)
    if runs:
        readings = readings_of(runs, expectation)
        readings += coast_down_readings(runs, expectation.baseline_coast_down_s)
    else:
        readings = no_speed(expectation, _why(recording, edge_hz, expectation, gate, found))
    return Listening(
        recording=facts,
        segments=_segments(runs, recording.duration_s),
        readings=readings,
        track=_track(runs, factor),
        gate=gate,
    )


def _ends_s(runs: tuple[Run, ...], duration_s: float) -> list[tuple[float, float]]:
    """Release of each run whose coast-down is heard, and where the next one begins."""
    starts = [*(run.start_s for run in runs[1:]), duration_s]
    return [(run.release_s, starts[number]) for number, run in enumerate(runs) if run.is_released]


def _speed_hz(runs: tuple[Run, ...]) -> float:
    return float(np.mean([run.mean_hz for run in runs])) if runs else 0.0


def _segments(runs: tuple[Run, ...], duration_s: float) -> tuple[Segment, ...]:
    """Name every stretch of the recording; what lies between runs is silent."""
    segments: list[Segment] = []
    at = 0.0
    for run in runs:
        start_s = max(run.start_s, at)
        if run.run_up is not None:
            up_s = min(max(float(run.run_up.time_s[0]), at), start_s)
            segments.append(Segment(SegmentKind.SILENT, at, up_s))
            segments.append(Segment(SegmentKind.RUN_UP, up_s, start_s))
        else:
            segments.append(Segment(SegmentKind.SILENT, at, start_s))
        at = max(run.release_s, start_s)
        segments.append(Segment(SegmentKind.STEADY, start_s, at))
        if run.coast_down is not None:
            stop_s = max(float(run.coast_down.time_s[-1]), at)
            segments.append(Segment(SegmentKind.COAST_DOWN, at, stop_s))
            at = stop_s
    segments.append(Segment(SegmentKind.SILENT, at, duration_s))
    return tuple(s for s in segments if s.stop_s - s.start_s > 1e-3)


def _track(runs: tuple[Run, ...], factor: float) -> Track:
    """Join the parts of all runs; points of a later part start where the earlier one ends."""
    times, speeds, sds, at = [], [], [], -np.inf
    for run in runs:
        parts = [(p.time_s, p.rotation_hz, p.sd_hz) for p in run.pieces]
        if run.run_up is not None:
            before = run.run_up.time_s < parts[0][0][0]
            speed = run.run_up.rotation_hz[before]
            parts.insert(0, (run.run_up.time_s[before], speed, 0.002 * speed))
        if run.coast_down is not None:
            after = run.coast_down.time_s > parts[-1][0][-1]
            speed = run.coast_down.rotation_hz[after]
            parts.append((run.coast_down.time_s[after], speed, 0.002 * speed))
        for time_s, speed_hz, sd_hz in parts:
            kept = time_s > at
            times.append(time_s[kept])
            speeds.append(hz_to_rpm(1.0) * factor * speed_hz[kept])
            sds.append(hz_to_rpm(1.0) * factor * sd_hz[kept])
            at = float(time_s[kept][-1]) if np.any(kept) else at
    if not times:
        return Track(np.empty(0), np.empty(0), np.empty(0))
    return Track(np.concatenate(times), np.concatenate(speeds), np.concatenate(sds))


def _why(
    recording: Recording,
    edge_hz: float,
    expectation: Expectation,
    gate: tuple[GateFinding, ...],
    found: Found,
) -> Message:
    """Say why there is no speed, and what would give one."""
    for key in ("silent", "too_short"):
        for finding in gate:
            if finding.key == key:
                return finding.message
    ceiling_rpm = hz_to_rpm(min(0.97 * edge_hz, 0.45 * recording.rate_hz))
    wanted_rpm = expectation.heard_range_rpm[1]
    label_rpm = expectation.label_speed_rpm
    if label_rpm is not None and not expectation.is_geared:
        wanted_rpm = min(wanted_rpm, 1.1 * label_rpm)
    if expectation.shaft_speed_rpm is not None and ceiling_rpm >= expectation.shaft_speed_rpm:
        given_rpm = expectation.shaft_speed_rpm
        return Message("sound.no_speed.given", {"given_rpm": given_rpm, "low_rpm": SLOWEST_RPM})
    if "fold" not in found.refusals and ceiling_rpm >= wanted_rpm:
        for key in _REFUSALS:
            if key in found.refusals:
                return Message(f"sound.no_speed.{key}", {"low_rpm": expectation.heard_range_rpm[0]})
        return Message("sound.no_speed.nothing")
    key = "rate" if edge_hz >= 0.44 * recording.rate_hz else "edge"
    return Message(
        f"sound.no_speed.{key}",
        {"rate_hz": recording.rate_hz, "edge_khz": edge_hz / 1e3, "ceiling_rpm": ceiling_rpm},
    )
