"""From a recording and what is known of the handpiece to a `Listening`."""

import numpy as np

from turnwell.measure import Reading
from turnwell.sound.coast.coast_down import CoastDown, coast_downs_of
from turnwell.sound.coast.readings import coast_down_readings, no_coast_down
from turnwell.sound.condition.judging import condition_of
from turnwell.sound.expectation import Expectation
from turnwell.sound.gate.band import band_findings
from turnwell.sound.gate.edge import codec_edge_hz
from turnwell.sound.gate.findings import GateFinding, gate_of
from turnwell.sound.gate.gain import gain_riding
from turnwell.sound.gate.speech import only_speech
from turnwell.sound.listening import Facts, Listening
from turnwell.sound.orders.finding import orders_of
from turnwell.sound.orders.given import given_turning
from turnwell.sound.orders.readings import bearing_objection, bearing_reading
from turnwell.sound.recording import Recording
from turnwell.sound.speed.finding import find_runs
from turnwell.sound.speed.plateaus import long_spectra
from turnwell.sound.speed.readings import no_speed, readings_of, shown_factor
from turnwell.sound.speed.reasons import why_no_speed
from turnwell.sound.speed.runs import Run
from turnwell.sound.speed.spectra import Spectra
from turnwell.sound.speed.turning import Turning
from turnwell.sound.timeline import quiet_of, segments_of, steady_of, track_of
from turnwell.units import rpm_to_hz

__all__ = ["analyse"]

_EDGE_SLOPE_HZ = 700.0


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
    samples, rate_hz = recording.samples, recording.rate_hz
    spectra = long_spectra(samples, rate_hz)
    edge_hz = codec_edge_hz(spectra, rate_hz)
    clear_hz = _clear_hz(edge_hz, rate_hz)
    found = find_runs(recording, spectra, clear_hz, expectation)
    runs = found.runs
    gate = _looked_over(recording, spectra, edge_hz, runs, expectation)
    coast_downs = coast_downs_of(samples, rate_hz, runs, edge_hz=clear_hz)
    segments = segments_of(runs, coast_downs, recording.duration_s)
    turning = _turning(recording, runs, coast_downs, expectation)
    # A bearing is guessed only where no other sound was in the way.
    is_guess = expectation.bearing is None and any(one.is_disturbed for one in coast_downs)
    may_judge = bearing_objection(gate) is None and not is_guess
    orders = orders_of(
        samples, rate_hz, turning, edge_hz=clear_hz, bearing=expectation.bearing, judges=may_judge
    )
    condition = condition_of(
        samples,
        rate_hz,
        steady=steady_of(runs),
        coast_downs=tuple(coast_down.turning for coast_down in coast_downs),
        quiet=quiet_of(segments),
        edge_hz=clear_hz,
        gate=gate,
        baseline_roughness_db=expectation.baseline_roughness_db,
    )
    if runs:
        readings = _readings_of_runs(runs, coast_downs, expectation)
    else:
        why = why_no_speed(recording, edge_hz, expectation, gate, found.refusals)
        readings = no_speed(expectation, why)
    if orders is not None:
        readings += (bearing_reading(orders, gate),)
    factor = shown_factor(expectation, _speed_hz(runs))
    return Listening(
        recording=Facts.of(recording),
        segments=segments,
        readings=readings + condition.readings,
        track=track_of(runs, coast_downs, factor),
        gate=gate,
        coast_downs=coast_downs,
        orders=orders,
        condition=condition,
        factor=factor,
    )


def _readings_of_runs(
    runs: tuple[Run, ...], coast_downs: tuple[CoastDown, ...], expectation: Expectation
) -> tuple[Reading, ...]:
    readings = readings_of(runs, expectation) + coast_down_readings(coast_downs, expectation)
    if not coast_downs and any(run.is_released for run in runs):
        readings += no_coast_down()
    return readings


def _clear_hz(edge_hz: float, rate_hz: float) -> float:
    """Give the frequency up to which there is a floor to measure a line against.

    The slope of an edge, a codec's or a converter's, holds none.
    """
    highest_hz = 0.45 * rate_hz
    return highest_hz if edge_hz >= highest_hz else min(edge_hz - _EDGE_SLOPE_HZ, highest_hz)


def _looked_over(
    recording: Recording,
    spectra: Spectra,
    edge_hz: float,
    runs: tuple[Run, ...],
    expectation: Expectation,
) -> tuple[GateFinding, ...]:
    """Give what is wrong with the recording."""
    found = gate_of(recording, spectra, edge_hz)
    found += gain_riding(spectra, _ends_s(runs, recording.duration_s), edge_hz)
    line_1_hz = _speed_hz(runs) if runs else rpm_to_hz(expectation.fastest_rpm)
    found += band_findings(recording.rate_hz, edge_hz, line_1_hz)
    return found if runs else only_speech(spectra, found)


def _turning(
    recording: Recording,
    runs: tuple[Run, ...],
    coast_downs: tuple[CoastDown, ...],
    expectation: Expectation,
) -> tuple[Turning, ...]:
    """Give the stretches of the shaft that is heard, or of the speed another tachometer gave."""
    stretches = (*steady_of(runs), *(coast_down.turning for coast_down in coast_downs))
    if stretches or expectation.shaft_speed_rpm is None:
        return stretches
    given_hz = rpm_to_hz(expectation.shaft_speed_rpm)
    return (given_turning(recording.samples, recording.rate_hz, given_hz),)


def _ends_s(runs: tuple[Run, ...], duration_s: float) -> list[tuple[float, float]]:
    """Release of each run whose coast-down is heard, and where the next one begins."""
    starts = [*(run.start_s for run in runs[1:]), duration_s]
    return [(run.release_s, starts[number]) for number, run in enumerate(runs) if run.is_released]


def _speed_hz(runs: tuple[Run, ...]) -> float:
    return float(np.mean([run.mean_hz for run in runs])) if runs else 0.0
