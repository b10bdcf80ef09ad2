"""Laws the ranking keeps whatever the answers."""

import json
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from turnwell import catalogue, cause, measure
from turnwell.cause.table import CASES_OF_SHARES
from turnwell.words import text_of

cat = catalogue.load()
TURBINE = "air_turbine_4_hole"
TABLES = {key: cause.table_for(cat, key) for key in cat.classes}


@st.composite
def cases(draw):
    table = TABLES[draw(st.sampled_from(sorted(TABLES)))]
    findings = st.lists(st.sampled_from([row.key for row in table.findings]), unique=True)
    answered = draw(findings)
    cut = draw(st.integers(0, len(answered)))
    complaints = st.lists(
        st.sampled_from([row.key for row in table.complaints]), unique=True, max_size=4
    )
    return table, draw(complaints), answered[:cut], answered[cut:]


@settings(max_examples=60, deadline=None)
@given(cases())
def test_a_ladder_holds_together(case):
    table, complaints, seen, not_seen = case
    ladder = cause.rank(table, complaints=complaints, seen=seen, not_seen=not_seen, draws=100)
    chances = [rung.probability for rung in ladder.rungs]
    assert sum(chances) == pytest.approx(1.0)
    assert chances == sorted(chances, reverse=True)
    assert {rung.key for rung in ladder.rungs} == {row.key for row in table.causes}
    for rung in ladder.rungs:
        assert 0.0 <= rung.low <= rung.probability <= rung.high <= 1.0
        assert all(item.weight > 0 for item in rung.evidence_for)
        assert all(item.weight < 0 for item in rung.evidence_against)
    assert len(ladder.look_next) <= 3
    for look in (*ladder.look_next, *ladder.look_at_visit):
        assert look.gain_bit >= 0.03
        assert not set(look.keys) & {*seen, *not_seen}
    assert "not counted" in text_of(ladder.wording)
    stored = json.loads(json.dumps(ladder.as_record(), allow_nan=False))
    assert cause.Ladder.from_record(stored) == ladder
    json.dumps(ladder.as_dict(), allow_nan=False)


@settings(max_examples=30, deadline=None)
@given(cases(), st.randoms())
def test_the_order_of_the_answers_does_not_matter(case, random):
    table, complaints, seen, not_seen = case
    ladder = cause.rank(table, complaints=complaints, seen=seen, not_seen=not_seen, draws=100)
    for keys in (complaints, seen, not_seen):
        random.shuffle(keys)
    again = cause.rank(table, complaints=complaints, seen=seen, not_seen=not_seen, draws=100)
    assert again == ladder


def test_what_was_not_looked_for_counts_as_nothing():
    table = TABLES[TURBINE]
    named = cause.probabilities(table, cause.Answers(("no_torque",)))
    row = [item.key for item in table.complaints].index("no_torque")
    by_hand = table.shares() * table.complaint_shares[row]
    np.testing.assert_allclose(named, by_hand / by_hand.sum())


def test_what_was_looked_for_and_not_seen_counts_against():
    table = TABLES[TURBINE]
    before = cause.rank(table, complaints=["no_torque"])
    after = cause.rank(table, complaints=["no_torque"], not_seen=["rust_on_bearings"])
    rusty = "moisture_corrosion"
    assert after.rung(rusty).probability < before.rung(rusty).probability
    assert after.rung(rusty).evidence_against[0].answer == "not seen"


def test_findings_that_hang_together_count_less_than_each_alone():
    table = TABLES[TURBINE]
    seen = ("rust_on_bearings", "rust_elsewhere")
    plain = cause.probabilities(table, cause.Answers((), seen), is_tempered=False)
    tempered = cause.probabilities(table, cause.Answers((), seen))
    assert tempered.max() < plain.max()
    alone = cause.Answers((), seen[:1])
    np.testing.assert_allclose(
        cause.probabilities(table, alone, is_tempered=False), cause.probabilities(table, alone)
    )


def test_several_complaints_weigh_one_over_root_n():
    table = TABLES[TURBINE]
    both = ("light_out_or_dim", "no_or_weak_spray")
    rows = [[item.key for item in table.complaints].index(key) for key in both]
    log_odds = np.log(table.shares())
    log_odds += np.log(table.complaint_shares[rows]).sum(axis=0) / np.sqrt(2)
    expected = np.exp(log_odds) / np.exp(log_odds).sum()
    np.testing.assert_allclose(cause.probabilities(table, cause.Answers(both)), expected)


def test_the_same_answers_give_the_same_range_unless_a_generator_is_given():
    table = TABLES[TURBINE]
    first = cause.rank(table, complaints=["no_torque"])
    assert cause.rank(table, complaints=["no_torque"]) == first
    other = cause.rank(table, complaints=["no_torque"], rng=np.random.default_rng(99))
    assert other.first.low != first.first.low


def test_own_cases_outweigh_the_trade_with_time():
    lows, shares = [], []
    for cases_seen in (0, 20, 2000):
        counts = cause.ShopCounts({"light_failed": cases_seen})
        table = cause.table_for(cat, TURBINE, counts=counts)
        ladder = cause.rank(table, complaints=["other"])
        rung = ladder.rung("light_failed")
        lows.append(rung.high - rung.low)
        shares.append(rung.probability)
    assert shares == sorted(shares)
    assert shares[-1] > 0.9
    assert lows[-1] < lows[1]


def test_knowing_the_office_does_not_widen_the_range():
    answers = {"complaints": ["leaks_water_or_air"], "seen": ["leak_found", "o_rings_hard"]}
    plain = cause.rank(TABLES[TURBINE], **answers).first
    office = cause.ShopCounts({"seals_hardened": 3})
    known = cause.rank(cause.table_for(cat, TURBINE, office_counts=office), **answers).first
    assert known.key == plain.key == "seals_hardened"
    assert known.high - known.low < plain.high - plain.low


def test_the_office_counts_half_beside_an_office_fact():
    office = cause.ShopCounts({"drive_pressure_high": 10})
    table = cause.table_for(cat, TURBINE, office_counts=office)
    full = table.shares()
    half = table.shares(office_weight=0.5)
    column = [row.key for row in table.causes].index("drive_pressure_high")
    assert full[column] == pytest.approx((0.04 * 10 + 10) / 20)
    assert half[column] == pytest.approx((0.04 * 10 + 5) / 15)
    row = [item.key for item in table.findings].index("no_flush_after_patient")
    posterior = half * table.levels[row]
    answers = cause.Answers(seen=("no_flush_after_patient",))
    np.testing.assert_allclose(cause.probabilities(table, answers), posterior / posterior.sum())


def test_life_lubrication_quarters_the_share_and_rescales():
    table = cause.table_for(cat, TURBINE, lubricated="never")
    column = [row.key for row in table.causes].index("too_little_lubricant")
    assert table.share_cases.sum() == pytest.approx(CASES_OF_SHARES)
    assert table.shares()[column] == pytest.approx(0.025 / (1 - 0.075))
    assert "no_lubrication_log" not in {row.key for row in table.findings}


def test_a_model_without_spray_or_light_cannot_fail_there():
    table = cause.table_for(cat, TURBINE, has_spray=False, has_light=False)
    assert not {row.key for row in table.causes} & {"spray_blocked", "light_failed"}
    assert not {row.key for row in table.findings} & {"spray_holes_blocked", "light_dark"}
    assert table.shares().sum() == pytest.approx(1.0)


def test_gears_follow_the_model_before_the_class():
    def has_gears(class_key, geared):
        table = cause.table_for(cat, class_key, geared=geared)
        return "gears_worn" in {row.key for row in table.findings}

    assert has_gears("contra_angle", None)
    assert not has_gears("contra_angle", False)
    assert not has_gears("straight_attachment", None)


def test_an_electric_motor_has_no_drive_air_causes():
    keys = {row.key for row in TABLES["electric_motor"].causes}
    assert not keys & {"drive_pressure_high", "drive_air_wet_or_dirty", "exhaust_restricted"}


def test_causes_that_say_nothing_of_the_office_are_marked():
    blameless = {row.key for row in cat.causes.values() if not row.office_care}
    assert blameless == {
        "light_failed",
        "last_repair",
        "worn_out",
        "not_the_handpiece",
        "something_else",
        "drive_pressure_high",
        "exhaust_restricted",
        "drive_air_wet_or_dirty",
    }


def speed(value, half, *, unproven=False):
    relative = cat.relative_limits_for(TURBINE)["free_running_speed"]
    limit = cat.limit_from_label(relative, 400_000.0)
    from turnwell.words import Message

    why = Message("measure.not_proven") if unproven else None
    return measure.reading(
        "free_running_speed", value, value - half, value + half, "rpm", limit=limit, unproven=why
    )


@pytest.mark.parametrize(
    ("found", "seen", "not_seen"),
    [
        (speed(340_000.0, 500.0), {"speed_low_at_label"}, {"speed_high_at_label"}),
        (speed(460_000.0, 500.0), {"speed_high_at_label"}, {"speed_low_at_label"}),
        (speed(400_000.0, 500.0), set(), {"speed_low_at_label", "speed_high_at_label"}),
        (speed(360_000.0, 500.0), set(), set()),
        (speed(340_000.0, 500.0, unproven=True), set(), set()),
    ],
)
def test_a_reading_answers_its_findings(found, seen, not_seen):
    answers = cause.findings_from_readings(TABLES[TURBINE], {found.key: found})
    assert set(answers.seen) == seen
    assert set(answers.not_seen) == not_seen


def test_water_flow_within_does_not_settle_crooked_jets():
    limit = cat.limits_for(TURBINE)["spray_water_flow"]
    for value, seen in ((30.0, ("spray_holes_blocked",)), (60.0, ())):
        flow = measure.reading(
            "spray_water_flow", value, value - 1, value + 1, "mL/min", limit=limit
        )
        answers = cause.findings_from_readings(TABLES[TURBINE], {flow.key: flow})
        assert (answers.seen, answers.not_seen) == (seen, ())


def test_what_a_person_says_outranks_what_a_reading_says():
    read = cause.Answers(seen=("run_out_high",), not_seen=("chuck_pull_low",))
    told = cause.Answers(("vibrates",), ("chuck_pull_low",), ("run_out_high",))
    joined = read.outranked_by(told)
    assert joined == told


def test_agreeing_after_the_ladder_weighs_half_and_unread_nothing():
    weigh = cause.weight_of_case
    assert weigh(is_own_view=True, is_after_ladder=True) == 1.0
    assert weigh(is_own_view=False, is_after_ladder=False) == 1.0
    assert weigh(is_own_view=False, is_after_ladder=True) == 0.5
    assert weigh(is_own_view=False, is_after_ladder=True, is_read=False) == 0.0
    unread = cause.ConfirmedCase("worn_out", seen=("feel_rough",), weight=0.0)
    assert cause.ShopCounts.from_cases([unread]).total == 0.0


def test_a_finding_in_two_groups_takes_the_larger_one():
    keys = ("white_scale", "debris_packed", "brown_varnish")
    groups = (frozenset(keys), frozenset(keys[:2]))
    for ordered in (groups, groups[::-1]):
        table = replace(TABLES[TURBINE], groups=ordered)
        rows = [[row.key for row in table.findings].index(key) for key in keys]
        log_odds = np.log(table.shares()) + np.log(table.levels[rows]).sum(axis=0) / np.sqrt(3)
        expected = np.exp(log_odds) / np.exp(log_odds).sum()
        np.testing.assert_allclose(cause.probabilities(table, cause.Answers((), keys)), expected)
