"""The facts as they ship: complete, sourced, and equal to what is written down elsewhere."""

import re
from math import fsum

import pytest

from turnwell import catalogue
from turnwell.errors import InputError
from turnwell.measure import Basis, Verdict, verdict_on

CLASS_KEYS = (
    "air_turbine_4_hole",
    "air_turbine_surgical",
    "air_turbine_2_3_hole",
    "low_speed_air_motor",
    "electric_motor",
    "straight_attachment",
    "contra_angle",
    "contra_angle_reducing",
    "contra_angle_increasing",
    "coupler",
)

cat = catalogue.load()


def test_classes_are_these_ten_in_order():
    assert tuple(cat.classes) == CLASS_KEYS


def test_counts_of_the_tables():
    assert len(cat.findings) == 57
    assert sum(row.in_short_list for row in cat.findings.values()) == 21
    assert (len(cat.causes), len(cat.complaints), len(cat.groups)) == (19, 16, 16)


@pytest.mark.parametrize("group", ["turbine", "motor", "attachment", "coupler"])
def test_shares_sum_to_one(group):
    assert fsum(cat.shares[group].values()) == pytest.approx(1.0, abs=1e-9)


def test_turbine_shares_follow_the_published_split_by_part():
    # Yin et al. 2020: 142 faults of 85 turbines: bearing 48.59 %, chuck 18.31 %, seals 16.20 %.
    # What goes to the chuck: the chuck cause 0.10, of debris 0.04, dry chuck 0.02, bur 0.02,
    # wear 0.01; to the seals: hardened 0.13, chemical 0.01, repair 0.01, wear 0.01.
    shares = cat.shares["turbine"]
    chuck = shares["chuck_worn_or_sterilized_open"] + 0.04 + 0.02 + 0.02 + 0.01
    seals = shares["seals_hardened"] + 0.01 + 0.01 + 0.01
    beside = ("spray_blocked", "light_failed", "not_the_handpiece", "something_else")
    rest = sum(shares[key] for key in beside)
    bearing = 1.0 - chuck - seals - rest
    assert chuck == pytest.approx(26 / 142, abs=0.01)
    assert seals == pytest.approx(23 / 142, abs=0.01)
    assert bearing == pytest.approx(69 / 142, abs=0.025)


def test_bearing_pitch_is_the_mean_of_bore_and_outside():
    for bearing in cat.bearings.values():
        assert bearing.pitch_mm == pytest.approx((bearing.bore_mm + bearing.outside_mm) / 2)


def test_speed_limit_follows_the_label():
    # 360,000 rpm of a stated 400,000 is the last speed within ± 10 %.
    relative = cat.relative_limits_for("air_turbine_4_hole")["free_running_speed"]
    limit = cat.limit_from_label(relative, 400_000.0)
    assert verdict_on(360_000.0, 360_000.0, limit) is Verdict.WITHIN
    assert verdict_on(359_999.0, 359_999.0, limit) is Verdict.OUTSIDE
    assert limit.basis is Basis.SECONDARY
    assert "label speed" in limit.source


@pytest.mark.parametrize("label", [0.0, -1.0, float("nan"), float("inf")])
def test_a_label_that_is_no_number_above_zero_is_refused(label):
    relative = cat.relative_limits_for("air_turbine_4_hole")["free_running_speed"]
    with pytest.raises(InputError, match="label speed is"):
        cat.limit_from_label(relative, label)


def test_only_a_limit_read_in_its_source_counts_as_verified():
    for key in CLASS_KEYS:
        for reading_key, limit in cat.limits_for(key).items():
            assert limit.basis.is_verified == (limit.basis is Basis.READ), reading_key
            assert limit.source


def test_no_limit_on_coast_down():
    for row in cat.classes.values():
        keys = {limit.reading_key for limit in (*row.limits, *row.relative_limits)}
        assert not {key for key in keys if key.startswith("coast_down")}


def test_every_class_that_turns_names_where_its_speed_is():
    for row in cat.classes.values():
        assert (row.speed_range_rpm is None) == (row.key == "coupler")
        if row.speed_range_rpm is not None:
            low, high = row.speed_range_rpm
            assert low <= row.typical_speed_rpm <= high


@pytest.mark.parametrize("lubricated", ["never", "not known"])
def test_what_is_not_known_to_be_lubricated_gets_no_oil(lubricated):
    for key in CLASS_KEYS:
        steps = cat.care_steps_for(key, lubricated)
        assert not [step.key for step in steps if step.key.startswith(("lubricate", "purge"))]


def test_not_known_opens_with_the_instructions():
    first = cat.care_steps_for("air_turbine_4_hole", "not known")[0]
    assert first.text.startswith("Read the maker's instructions before any spray")


def test_turbine_care_runs_out_the_lubricant_after_it_and_before_the_pouch():
    keys = [step.key for step in cat.care_steps_for("air_turbine_4_hole", "yes")]
    order = ["flush", "clean_outside", "lubricate_turbine", "purge_turbine", "wipe_and_pouch"]
    assert [keys.index(key) for key in order] == sorted(keys.index(key) for key in order)
    assert keys[-2:] == ["sterilize", "cool"]


def test_an_unknown_answer_to_lubricated_is_refused():
    with pytest.raises(InputError, match="'yes', 'never' or 'not known'"):
        cat.care_steps_for("coupler", "maybe")


def test_an_unknown_class_is_refused_with_those_there_are():
    with pytest.raises(InputError, match="no handpiece class; choose one of air_turbine_4_hole"):
        cat.limits_for("turbine")


def test_findings_of_a_class_leave_out_what_it_has_not():
    electric = {row.key for row in cat.findings_for("electric_motor")}
    assert not electric & {
        "vanes_worn",
        "start_pressure_high",
        "chair_pressure_high",
        "run_out_high",
    }
    assert "gears_worn" not in electric
    assert "gears_worn" in {row.key for row in cat.findings_for("contra_angle_reducing")}


def test_levels_are_five_and_none_is_certain():
    assert list(cat.levels.values()) == [0.03, 0.10, 0.30, 0.60, 0.90]


def test_tables_cannot_be_written_to():
    with pytest.raises(TypeError):
        cat.shares["turbine"]["worn_out"] = 0.5
    with pytest.raises(AttributeError):
        cat.causes["worn_out"].name = "x"


def test_keys_are_plain_words():
    for table in (cat.classes, cat.findings, cat.causes, cat.complaints, cat.groups):
        assert all(re.fullmatch(r"[a-z][a-z0-9_]{2,39}", key) for key in table)


def test_every_cause_of_the_offices_care_says_what_its_action_prevents():
    assert set(cat.effects) == {row.key for row in cat.causes.values() if row.office_care}
    for row in cat.effects.values():
        # Shown as one of three lines to a busy person: short, and an order.
        assert len(row.action) <= 60
        assert not row.action.endswith(".")


def test_what_an_action_prevents_is_a_belief_that_leaves_room():
    # Beta(a, b): variance ab / ((a + b)^2 (a + b + 1)); nobody counted, so none may be sure.
    for row in cat.effects.values():
        weight = row.alpha + row.beta
        spread = (row.alpha * row.beta / (weight**2 * (weight + 1.0))) ** 0.5
        assert spread > 0.14, row.key
        assert not row.basis.is_verified
    assert cat.effects["debris_baked_in"].mean == 0.5
    assert cat.effects["seals_hardened"].mean == min(row.mean for row in cat.effects.values())


def test_a_pace_is_a_plausible_share_of_an_offices_patients():
    # 15 to 20 patients a day in an office: no single handpiece is used more often.
    assert tuple(cat.paces) == CLASS_KEYS
    for row in cat.paces.values():
        assert row.high <= 20.0
        assert row.uses_a_day == pytest.approx(row.uses_a_working_day * 220 / 365.25)
