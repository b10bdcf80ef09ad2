"""From a recording and what is known of the handpiece to a `Listening`."""

import numpy as np

from turnwell.sound.coast.coast_down import coast_downs_of
from turnwell.sound.coast.readings import coast_down_readings
from turnwell.sound.condition.judging import condition_of
from turnwell.sound.expectation import SLOWEST_RPM, Expectation
from turnwell.sound.gate.findings import GateFinding, codec_edge_hz, gate_of
from turnwell.sound.gate.gain import gain_riding
from turnwell.sound.listening import Facts, Listening
from turnwell.sound.recording import Recording
from turnwell.sound.speed.finding import Found, find_runs
from turnwell.sound.speed.plateaus import HOP_S, WINDOW_S
from turnwell.sound.speed.readings import no_speed, readings_of, shown_factor
from turnwell.sound.speed.runs import Run
from turnwell.sound.speed.spectra import spectra_of
from turnwell.sound.timeline import quiet_of, segments_of, steady_of, track_of
from turnwell.units import hz_to_rpm
from turnwell.words import Message

__all__ = ["analyse"]


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
    coast_downs = coast_downs_of(recording.samples, recording.rate_hz, runs, edge_hz=clear_hz)
    segments = segments_of(runs, coast_downs, recording.duration_s)
    gate += gain_riding(spectra, _ends_s(runs, recording.duration_s), edge_hz)
    condition = condition_of(
        recording.samples,
        recording.rate_hz,
        steady=steady_of(runs),
        coast_downs=tuple(coast_down.turning for coast_down in coast_downs),
        quiet=quiet_of(segments, runs),
        edge_hz=clear_hz,
        gate=gate,
        baseline_roughness_db=expectation.baseline_roughness_db,
    )
    if runs:
        readings = readings_of(runs, expectation)
        readings += coast_down_readings(coast_downs, expectation)
        readings += condition.readings
    else:
        readings = no_speed(expectation, _why(recording, edge_hz, expectation, gate, found))
    factor = shown_factor(expectation, _speed_hz(runs))
    return Listening(
        recording=Facts.of(recording),
        segments=segments,
        readings=readings,
        track=track_of(runs, coast_downs, factor),
        gate=gate,
        coast_downs=coast_downs,
        condition=condition,
        factor=factor,
    )


def _ends_s(runs: tuple[Run, ...], duration_s: float) -> list[tuple[float, float]]:
    """Release of each run whose coast-down is heard, and where the next one begins."""
    starts = [*(run.start_s for run in runs[1:]), duration_s]
    return [(run.release_s, starts[number]) for number, run in enumerate(runs) if run.is_released]


def _speed_hz(runs: tuple[Run, ...]) -> float:
    return float(np.mean([run.mean_hz for run in runs])) if runs else 0.0


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
