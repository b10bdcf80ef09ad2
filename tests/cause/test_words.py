"""What the ladder says: leading, between, cannot tell, nothing fits, and the cautions."""

import pytest

from turnwell import catalogue, cause
from turnwell.errors import InputError
from turnwell.words import text_of

cat = catalogue.load()
table = cause.table_for(cat, "air_turbine_4_hole", lubricated="yes")


def test_one_cause_leads():
    ladder = cause.rank(
        table, complaints=["leaks_water_or_air"], seen=["leak_found", "o_rings_hard"]
    )
    assert ladder.answer is cause.Answer.LEADING
    assert text_of(ladder.wording).startswith("Leading: Seals hardened.")
    assert ladder.is_answered


def test_two_causes_are_left():
    ladder = cause.rank(
        table,
        complaints=["rattles_or_rough"],
        seen=["feel_rough", "rust_on_bearings"],
        not_seen=["water_in_drive_line"],
    )
    assert ladder.answer is cause.Answer.BETWEEN
    assert "Moisture and rust, or Too little lubricant" in text_of(ladder.wording)


def test_a_complaint_alone_cannot_tell():
    ladder = cause.rank(table, complaints=["no_torque"])
    assert ladder.answer is cause.Answer.CANNOT_TELL
    assert not ladder.is_answered


@pytest.mark.parametrize("class_key", ["air_turbine_4_hole", "coupler"])
def test_no_answer_at_all_cannot_tell(class_key):
    ladder = cause.rank(cause.table_for(cat, class_key))
    assert ladder.answer is cause.Answer.CANNOT_TELL
    assert "no complaint and no finding" in text_of(ladder.wording)
    assert ladder.look_next


def test_nothing_listed_fits():
    # Looked at all over and found nothing that any listed cause brings with it.
    not_seen = [row.key for row in table.findings if row.in_short_list]
    ladder = cause.rank(table, complaints=["other"], not_seen=not_seen)
    assert ladder.answer is cause.Answer.NOTHING_FITS
    assert not ladder.is_answered


def test_fewer_than_six_findings_never_say_that_nothing_fits():
    for count in range(1, 6):
        not_seen = [row.key for row in table.findings if row.stage == "torn down"][:count]
        ladder = cause.rank(table, not_seen=not_seen)
        assert ladder.answer is not cause.Answer.NOTHING_FITS


@pytest.mark.parametrize(
    ("answers", "what"),
    [
        ({"complaints": ["runs_hot"]}, "Head or body gets hot"),
        ({"complaints": ["bur_slips_or_falls_out"]}, "Bur slips"),
        ({"seen": ["chuck_pull_low"]}, "Chuck pull low"),
        ({"seen": ["cap_or_head_dented"]}, "Cap or head dented"),
    ],
)
def test_what_can_hurt_goes_out_of_use_now(answers, what):
    said = [text_of(message) for message in cause.rank(table, **answers).says]
    assert any(line.startswith(what) and "out of use now" in line for line in said)


def test_nothing_is_said_of_use_where_nothing_can_hurt():
    assert cause.rank(table, complaints=["no_torque"], not_seen=["chuck_pull_low"]).says == ()


def test_lubrication_not_known_is_said_where_the_answer_hangs_on_it():
    unknown = cause.table_for(cat, "air_turbine_4_hole", lubricated="not known")
    dry = cause.rank(unknown, seen=["bearings_dry"])
    assert any("read the maker's instructions" in text_of(line) for line in dry.says)
    leak = cause.rank(unknown, complaints=["leaks_water_or_air"], seen=["leak_found"])
    top = {rung.key for rung in leak.rungs[:3]}
    assert ("wrong_or_excess_lubricant" in top) == bool(leak.says)


def test_own_cases_are_said():
    counted = cause.table_for(
        cat,
        "air_turbine_4_hole",
        lubricated="yes",
        counts=cause.ShopCounts({"worn_out": 2.5}),
    )
    said = [text_of(line) for line in cause.rank(counted, complaints=["no_torque"]).says]
    assert said == ["Added to trade experience: this shop's own confirmed cases, 2.5 in all."]


def test_the_offices_earlier_cases_are_said_with_their_weight():
    office = cause.ShopCounts({"worn_out": 3})
    counted = cause.table_for(cat, "air_turbine_4_hole", lubricated="yes", office_counts=office)
    plain = cause.rank(counted, complaints=["no_torque"])
    beside = cause.rank(counted, complaints=["no_torque"], not_seen=["drop_reported"])
    assert "a weight of 3." in text_of(plain.says[-1])
    assert "a weight of 1.5." in text_of(beside.says[-1])


def test_a_closed_handpiece_is_opened_last():
    ladder = cause.rank(table, complaints=["no_torque"])
    keys = [look.keys for look in ladder.look_next]
    stages = {row.key: row for row in table.findings}
    assert keys[-1] == ("bearings_dry", "rust_on_bearings", "debris_packed")
    assert all(stages[look[0]].destroyed_by_opening for look in keys[:-1])
    opening = ladder.look_next[-1]
    assert opening.minutes == 5 + 3
    assert "Open it" in text_of(opening.message)
    single = max(gain.bit for gain in cause.gains(table, cause.Answers(("no_torque",))))
    assert opening.gain_bit > single


def test_an_opened_handpiece_is_not_asked_what_opening_destroyed():
    ladder = cause.rank(table, complaints=["no_torque"], seen=["debris_packed"])
    stages = {row.key: row for row in table.findings}
    for look in ladder.look_next:
        assert len(look.keys) == 1
        assert not stages[look.keys[0]].destroyed_by_opening


def test_offers_stop_when_nothing_could_overturn_the_first():
    keys = [row.key for row in table.findings]
    seen = [
        *("debris_packed", "brown_varnish", "no_flush_after_patient", "feel_sticky"),
        *("not_run_after_oiling", "feel_rough"),
    ]
    not_seen = [
        row.key for row in table.findings if row.stage != "torn down" and row.key not in seen
    ]
    ladder = cause.rank(table, seen=seen, not_seen=not_seen)
    assert ladder.first.key == "debris_baked_in"
    assert ladder.answer is cause.Answer.LEADING
    assert len(seen) + len(not_seen) < len(keys)
    assert ladder.look_next == ()


def test_looks_at_the_office_are_grouped_for_the_visit():
    ladder = cause.rank(table, complaints=["no_torque"])
    stages = {row.key: row.stage for row in table.findings}
    assert ladder.look_at_visit
    assert {stages[look.keys[0]] for look in ladder.look_at_visit} == {"office"}


def test_a_look_says_what_either_answer_would_bring():
    ladder = cause.rank(table, complaints=["no_torque"], seen=["debris_packed"])
    look = ladder.look_next[0]
    for answer, outcome in (("seen", look.if_seen), ("not_seen", look.if_not_seen)):
        answers = {"complaints": ["no_torque"], "seen": ["debris_packed"], "not_seen": []}
        answers[answer] = [*answers[answer], *look.keys]
        after = cause.rank(table, **answers)
        # The look's own group weight is left out of the forecast.
        assert after.first.key == outcome.cause
        assert after.first.probability == pytest.approx(outcome.probability, abs=0.1)


@pytest.mark.parametrize(
    ("answers", "says"),
    [
        ({"seen": ["feel_ruff"]}, "'feel_ruff' is no finding of 4-hole air turbine; near it: feel"),
        ({"complaints": ["no_torc"]}, "'no_torc' is no complaint; near it: no_torque"),
        ({"not_seen": ["gears_worn"]}, "'gears_worn' is no finding of 4-hole air turbine"),
        ({"seen": ["feel_rough"], "not_seen": ["feel_rough"]}, "feel_rough is given as seen and"),
        ({"draws": 10}, "draws is 10, must be at least 100"),
    ],
)
def test_wrong_answers_are_refused(answers, says):
    with pytest.raises(InputError, match=says):
        cause.rank(table, **answers)


def test_wrong_tables_are_refused():
    with pytest.raises(InputError, match="no handpiece class"):
        cause.table_for(cat, "turbine")
    with pytest.raises(InputError, match="lubricated is 'maybe'"):
        cause.table_for(cat, "coupler", lubricated="maybe")
    with pytest.raises(InputError, match="is not on this ladder"):
        cause.rank(table).rung("gremlins")


def test_wrong_counts_are_refused():
    with pytest.raises(InputError, match="count of worn_out is -1"):
        cause.ShopCounts({"worn_out": -1})
    with pytest.raises(InputError, match="count of worn_out is nan"):
        cause.ShopCounts({"worn_out": float("nan")})
    cell = ("feel_rough", "worn_out")
    with pytest.raises(InputError, match="seen 2 times but looked for 1 times"):
        cause.ShopCounts({}, {cell: 2}, {cell: 1})
    with pytest.raises(InputError, match="both seen and not seen"):
        cause.ConfirmedCase("worn_out", ("feel_rough",), ("feel_rough",))
    with pytest.raises(InputError, match="weight is 2"):
        cause.ConfirmedCase("worn_out", weight=2)


def test_half_is_not_leading_while_the_second_has_more_than_half_of_it():
    # Own cases alone make the shares, so that first and second are known: 0.56 to 0.36.
    counts = cause.ShopCounts({"worn_out": 5600, "light_failed": 3600, "last_repair": 800})
    close = cause.table_for(cat, "air_turbine_4_hole", counts=counts)
    apart = cause.table_for(
        cat,
        "air_turbine_4_hole",
        counts=cause.ShopCounts({"worn_out": 5600, "light_failed": 1600, "last_repair": 2800}),
    )
    # Equally likely under all three: background level in each.
    alike = {"not_seen": ["white_scale"]}
    assert cause.rank(close, **alike).answer is cause.Answer.BETWEEN
    assert cause.rank(apart, **alike).answer is cause.Answer.LEADING


def test_the_first_connection_of_gauge_and_microphone_takes_its_minutes():
    def minutes(**answers):
        looks = cause.rank(table, is_open=False, **answers).look_next
        return {look.keys[0]: look.minutes for look in looks}

    answered = [
        row.key
        for row in table.findings
        if not row.with_gauge and row.stage != "torn down" and row.key != "feel_rough"
    ]
    before = minutes(complaints=["no_torque"], not_seen=answered)
    after = minutes(complaints=["no_torque"], not_seen=[*answered, "coast_down_long"])
    both = {key for key in before if table_row(key).with_gauge} & set(after)
    assert both
    for key in both:
        assert (before[key], after[key]) == (table_row(key).minutes + 3, table_row(key).minutes)


def table_row(key):
    return next(row for row in table.findings if row.key == key)
