"""From an invented recording to its coast-downs, by the rooms before."""

from tests.sound.coast.rotors import Recorded
from turnwell.sound import Expectation, recording_of
from turnwell.sound.coast.coast_down import CoastDown, coast_downs_of
from turnwell.sound.gate.edge import codec_edge_hz
from turnwell.sound.speed.finding import find_runs
from turnwell.sound.speed.plateaus import long_spectra
from turnwell.sound.speed.runs import Run

__all__ = ["MOTOR", "TURBINE", "coast_downs_in", "runs_in"]

TURBINE = Expectation(handpiece_class="air_turbine_4_hole")
MOTOR = Expectation(handpiece_class="low_speed_air_motor")


def runs_in(recorded: Recorded, expectation: Expectation) -> tuple[tuple[Run, ...], float]:
    """Give the runs heard, and the highest frequency at which lines are judged."""
    recording = recording_of(recorded.samples, recorded.rate_hz)
    spectra = long_spectra(recording.samples, recording.rate_hz)
    edge_hz = codec_edge_hz(spectra, recording.rate_hz)
    clear_hz = 0.45 * recording.rate_hz
    if edge_hz < clear_hz:
        clear_hz = edge_hz - 700.0
    return find_runs(recording, spectra, clear_hz, expectation).runs, clear_hz


def coast_downs_in(recorded: Recorded, expectation: Expectation) -> tuple[CoastDown, ...]:
    """Give the coast-downs heard."""
    runs, edge_hz = runs_in(recorded, expectation)
    return coast_downs_of(recorded.samples, recorded.rate_hz, runs, edge_hz=edge_hz)
