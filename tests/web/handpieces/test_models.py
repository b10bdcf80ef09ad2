import pytest

from tests.people import bea_of_birch_lane, theo_the_technician
from tests.web.jobs.builders import a_handpiece, a_model
from turnwell.errors import ChangedMeanwhileError, InputError, NotAllowedError
from turnwell.web.handpieces.actions import MODEL_FIELDS, ModelDetails, add_model, edit_model
from turnwell.web.handpieces.models import HandpieceModel
from turnwell.web.handpieces.ratios import ratio_shown, read_ratio
from turnwell.web.shared.rows import snapshot_of

pytestmark = pytest.mark.django_db


def put_in(**details):
    typed = ModelDetails(**{"name": "Tern", "class_key": "air_turbine_4_hole"} | details)
    return add_model(by=theo_the_technician(), details=typed)


def test_a_model_is_kept_as_typed():
    model = put_in(
        label_speed_rpm=400_000.0, lubricated="yes", lubricant_place="drive-air hole", blades=8
    )
    model.refresh_from_db()
    assert (model.label_speed_rpm, model.lubricant_place, model.blades) == (
        400_000.0,
        "drive-air hole",
        8,
    )


def test_only_a_lubricated_model_has_a_hole_for_it():
    model = put_in(lubricated="never", lubricant_place="drive-air hole", oil_when="before")
    assert (model.lubricant_place, model.oil_when) == ("", "not known")


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"name": " "}, "needs a name"),
        ({"class_key": "drill"}, "not in the catalogue"),
        ({"label_speed_rpm": 0.0}, "label speed 0 rpm is out of range"),
        ({"label_speed_rpm": 4_000_000.0}, "4e\\+06 rpm is out of range"),
        ({"label_speed_rpm": float("nan")}, "out of range"),
        ({"label_pressure_kpa": 3500.0}, "label pressure 3,500 kPa is out of range"),
        (
            {"bearing_balls": 16, "bearing_ball_mm": 1.0, "bearing_pitch_mm": 5.0},
            "do not fit beside one another",
        ),
        ({"bearing_ball_mm": 5.0, "bearing_pitch_mm": 4.0}, "does not fit a pitch diameter"),
        ({"lubricated": "perhaps"}, "lubricated"),
        ({"class_key": "contra_angle_reducing", "motor_turns_per_bur_turn": 0.2}, "above 1:1"),
        ({"class_key": "contra_angle_increasing", "motor_turns_per_bur_turn": 5.0}, "below 1:1"),
    ],
)
def test_what_is_wrong_is_named_and_nothing_is_kept(wrong, says):
    with pytest.raises(InputError, match=says):
        put_in(**wrong)
    assert not HandpieceModel.objects.exists()


def test_a_name_is_taken_once():
    put_in()
    with pytest.raises(InputError, match="already a model called Tern"):
        put_in(name="TERN")


def test_the_class_of_a_model_in_use_stays():
    model = a_model()
    a_handpiece(model=model)
    with pytest.raises(InputError, match="its class stays"):
        edit_model(
            by=theo_the_technician(),
            model=model,
            details=ModelDetails(name="Model A", class_key="coupler"),
        )


def test_two_tabs_do_not_overwrite_each_other():
    model, theo = put_in(), theo_the_technician()
    seen = snapshot_of(model, MODEL_FIELDS)
    first = ModelDetails(name="Tern", class_key="air_turbine_4_hole", blades=8)
    edit_model(by=theo, model=model, details=first, seen=seen)
    with pytest.raises(ChangedMeanwhileError, match="blades is “8”"):
        edit_model(by=theo, model=model, details=first, seen=seen)


def test_people_of_an_office_change_none():
    with pytest.raises(NotAllowedError):
        add_model(by=bea_of_birch_lane(), details=ModelDetails(name="Own", class_key="coupler"))


# 20,000 rpm of the motor through 8:1 and 16:1, and 40,000 through 1:5: arithmetic of the ratio.
@pytest.mark.parametrize(
    ("typed", "motor_rpm", "bur_rpm"),
    [("8:1", 20_000, 2_500), ("16:1", 20_000, 1_250), ("1:5", 40_000, 200_000), ("1:1", 9, 9)],
)
def test_a_ratio_divides_the_motors_speed(typed, motor_rpm, bur_rpm):
    assert motor_rpm / read_ratio(typed) == pytest.approx(bur_rpm)
    assert ratio_shown(read_ratio(typed)) == typed


@pytest.mark.parametrize(
    "typed", ["8", "8:", ":1", "0:1", "8:0", "8:1:1", "nan:1", "-8:1", "1e9:1"]
)
def test_what_is_no_ratio_is_refused(typed):
    with pytest.raises(InputError, match="ratio"):
        read_ratio(typed)
