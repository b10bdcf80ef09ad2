"""What the core is told before it listens, as the worker puts it together."""

import pytest

from tests.web.evidence.files import tone, wav
from tests.web.jobs.builders import a_blank_test, a_handpiece, a_job, a_model
from turnwell import sound
from turnwell.web.evidence import analysis
from turnwell.web.jobs.analysis.sound import _expectation

pytestmark = pytest.mark.django_db
GEOMETRY = {"bearing_balls": 8, "bearing_ball_mm": 1.0, "bearing_pitch_mm": 4.7625}


@pytest.fixture
def told(monkeypatch, tmp_path):
    """Give a function that listens for a model and tells what the core was told."""
    path = tmp_path / "run.wav"
    path.write_bytes(wav(tone(3_000.0, 0.5)))
    listened, heard = sound.analyse, []

    def noted(recording, expectation):
        heard.append(expectation)
        return listened(recording, expectation)

    monkeypatch.setattr(sound, "analyse", noted)

    def of_model(**fields):
        kind = fields.get("class_key", "air_turbine_4_hole")
        job = a_job(a_handpiece(model=a_model(**fields), class_key=kind))
        analysis.listen(str(path), "run.wav", _expectation(a_blank_test(job)))
        return heard[-1]

    return of_model


def test_the_bearing_of_the_model_is_handed_on_in_si_units(told):
    bearing = told(**GEOMETRY, bearing_contact_deg=15.0).bearing
    # 15 degrees are pi / 12 rad; sizes in metres.
    assert (bearing.balls, bearing.ball_m, bearing.pitch_m) == (8, 1e-3, pytest.approx(4.7625e-3))
    assert bearing.contact_rad == pytest.approx(0.2617994)


@pytest.mark.parametrize("missing", sorted(GEOMETRY))
def test_a_bearing_known_in_part_names_no_line(told, missing):
    assert told(**GEOMETRY | {missing: None}).bearing is None


def test_a_contact_angle_that_is_not_known_is_0(told):
    assert told(**GEOMETRY).bearing.contact_rad == 0.0


def test_a_bearing_that_cannot_be_does_not_stop_the_listening(told):
    # 16 balls of 1 mm need a circle of more than 16 / pi = 5.09 mm.
    assert told(**GEOMETRY | {"bearing_balls": 16}).bearing is None


def test_behind_a_gear_the_bearing_of_the_bur_is_not_looked_for(told):
    assert told(**GEOMETRY, class_key="contra_angle_reducing").bearing is None
