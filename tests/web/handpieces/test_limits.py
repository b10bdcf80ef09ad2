import pytest

from tests.people import bea_of_birch_lane, theo_the_technician
from tests.web.jobs.builders import a_handpiece, a_model
from turnwell.errors import ChangedMeanwhileError, InputError, NotAllowedError
from turnwell.measure import Basis
from turnwell.web.handpieces.actions import override_limit, take_back_limit
from turnwell.web.handpieces.limit_rows import history, limit_rows
from turnwell.web.handpieces.models import LimitOverride
from turnwell.web.handpieces.queries import facts_for_sound, limits_for

pytestmark = pytest.mark.django_db
TURBINE = "air_turbine_4_hole"


def own(reading_key="run_out", low=None, high=0.02, **whose):
    return override_limit(
        by=theo_the_technician(),
        reading_key=reading_key,
        low=low,
        high=high,
        reason="maker's sheet",
        **whose or {"class_key": TURBINE},
    )


# [JIST5912], clause 5.4: at most 80 dB(A).
def test_without_own_limits_the_catalogue_holds():
    limit = limits_for(a_handpiece())["noise_level"]
    assert (limit.low, limit.high, limit.basis) == (None, 80.0, Basis.READ)


# ISO 14457 as summarised: free-running speed within 10 % of the stated one.
def test_the_label_speed_makes_a_limit_of_ten_percent_either_way():
    limit = limits_for(a_handpiece(model=a_model()))["free_running_speed"]
    assert (limit.low, limit.high) == (360_000.0, 440_000.0)
    assert not limit.basis.is_verified


def test_without_a_label_no_speed_is_held_against_anything():
    assert "free_running_speed" not in limits_for(a_handpiece())
    bare = a_model(label_speed_rpm=None)
    assert "free_running_speed" not in limits_for(a_handpiece(model=bare))


def test_the_label_pressure_replaces_the_typical_range_of_the_class():
    assert limits_for(a_handpiece())["drive_air_pressure"].low == 221.0
    limit = limits_for(a_handpiece(model=a_model()))["drive_air_pressure"]
    assert (limit.low, limit.high, limit.basis) == (None, 240.0, Basis.OWN)


def test_the_models_own_limit_rules_over_the_classes_own_over_the_catalogues():
    model = a_model()
    with_model, without = a_handpiece(model=model), a_handpiece()
    assert limits_for(with_model)["run_out"].high == 0.03
    own(high=0.02)
    own(high=0.01, model=model)
    assert limits_for(with_model)["run_out"].high == 0.01
    assert limits_for(without)["run_out"].high == 0.02
    assert limits_for(a_handpiece(class_key="coupler")).get("run_out") is None
    assert "maker's sheet" in limits_for(without)["run_out"].source


def test_an_own_limit_in_percent_follows_each_label():
    own("free_running_speed", low=-5.0, high=None)
    limit = limits_for(a_handpiece(model=a_model()))["free_running_speed"]
    assert (limit.low, limit.high) == (380_000.0, None)
    assert "free_running_speed" not in limits_for(a_handpiece())


def test_a_second_own_limit_takes_the_place_of_the_first_and_both_stay():
    first, second = own(high=0.02), own(high=0.025)
    assert second.corrects == first
    assert limits_for(a_handpiece())["run_out"].high == 0.025
    assert history("run_out", class_key=TURBINE) == [second, first]


def test_taken_back_the_one_behind_it_holds_again():
    theo = theo_the_technician()
    override = own(high=0.02)
    with pytest.raises(InputError, match="why the limit is taken back"):
        take_back_limit(by=theo, override=override, reason=" ")
    take_back_limit(by=theo, override=override, reason="sheet withdrawn")
    assert limits_for(a_handpiece())["run_out"].high == 0.03
    assert LimitOverride.objects.count() == 2
    with pytest.raises(ChangedMeanwhileError):
        take_back_limit(by=theo, override=override, reason="again")
    own(high=0.015)
    assert limits_for(a_handpiece())["run_out"].high == 0.015


def test_a_limit_where_the_catalogue_has_none():
    own("coast_down_time", low=2.0, high=None)
    assert limits_for(a_handpiece())["coast_down_time"].low == 2.0


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"low": None, "high": None}, "needs a low side"),
        ({"low": 0.03, "high": 0.02}, "above the high side"),
        ({"high": float("inf")}, "must be a number"),
        ({"high": -0.1}, "must not be below 0"),
        ({"reading_key": "colour"}, "no reading of this class"),
        ({"reading_key": "run_out", "class_key": "coupler"}, "no reading of this class"),
        ({"class_key": "drill"}, "no handpiece class"),
    ],
)
def test_wrong_limits_are_refused(wrong, says):
    with pytest.raises(InputError, match=says):
        own(**{"class_key": TURBINE} | wrong)
    assert not LimitOverride.objects.exists()


def test_a_limit_needs_its_reason_and_one_owner():
    theo = theo_the_technician()
    with pytest.raises(InputError, match="why the limit is another"):
        override_limit(
            by=theo, reading_key="run_out", low=None, high=1.0, reason=" ", class_key=TURBINE
        )
    with pytest.raises(InputError, match="one class or for one model"):
        override_limit(by=theo, reading_key="run_out", low=None, high=1.0, reason="because")


def test_people_of_an_office_set_none():
    with pytest.raises(NotAllowedError):
        override_limit(
            by=bea_of_birch_lane(),
            reading_key="run_out",
            low=None,
            high=1.0,
            reason="because",
            class_key=TURBINE,
        )


def test_the_rows_of_a_page_hold_what_limits_for_gives():
    model = a_model()
    own(high=0.01, model=model)
    handpiece = a_handpiece(model=model)
    held = {row.reading_key: (row.low, row.high) for row in limit_rows(TURBINE, model)}
    for key, limit in limits_for(handpiece).items():
        assert held[key] == (limit.low, limit.high)


def test_facts_for_sound_are_plain_and_come_from_model_and_class():
    facts = facts_for_sound(
        a_handpiece(
            class_key="contra_angle_reducing",
            model=a_model(
                class_key="contra_angle_reducing",
                label_speed_rpm=5_000.0,
                label_pressure_kpa=None,
                motor_turns_per_bur_turn=8.0,
            ),
        )
    )
    assert (facts.ratio, facts.label_speed_rpm, facts.label_pressure_kpa) == (8.0, 5_000.0, None)
    assert facts.speed_limit.low == 4_500.0
    bare = facts_for_sound(a_handpiece())
    assert (bare.ratio, bare.speed_limit) == (1.0, None)
    assert bare.class_speed_range_rpm == (300_000.0, 450_000.0)
