"""Changes of a sterilizer over months: found, dated, measured, and not seen where none are."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from turnwell.errors import InputError
from turnwell.steam.months.drift import ChangeKind, slope_of
from turnwell.steam.months.level_shift import (
    FEWEST_VALUES,
    chance_of,
    critical_value,
    level_of,
    shift_in,
    shift_size,
)
from turnwell.steam.months.trend import trend_of
from turnwell.words import text_of

START = datetime(2026, 1, 5, 8, 0, tzinfo=UTC)
KEY, UNIT = "drying_lowest_pressure_kpa", "kPa"


def days(count):
    return [START + timedelta(days=day) for day in range(count)]


def trend(values, **options):
    return trend_of(KEY, UNIT, days(len(values)), values, **options)


def stepped(random, count, at, size):
    return random.standard_normal(count) + size * (np.arange(count) >= at)


def remembering(random, count):
    noise = random.standard_normal(count + 50)
    for at in range(1, noise.size):
        noise[at] += 0.4 * noise[at - 1]
    return noise[50:]


@pytest.mark.parametrize(
    "noise",
    [
        lambda random, n: random.standard_normal(n),
        lambda random, n: random.standard_t(2, n),
        lambda random, n: np.round(random.standard_normal(n)),
        remembering,
    ],
    ids=["normal", "heavy tails", "ties", "serial"],
)
def test_where_nothing_changes_at_most_the_stated_share_alarms(noise):
    random = np.random.default_rng(3)
    runs = 300
    alarms = sum(bool(trend(noise(random, 60)).changes) for _ in range(runs))
    # 5 % and three standard errors of a share from 300 runs.
    assert alarms / runs <= 0.05 + 3.0 * np.sqrt(0.05 * 0.95 / runs)


@pytest.mark.parametrize("count", [20, 100])
def test_the_limit_is_that_of_shuffled_ranks(count):
    random = np.random.default_rng(4)
    scores = [
        found.statistic * np.sqrt(found.memory)
        for found in (shift_in(random.permutation(count).astype(float)) for _ in range(1500))
    ]
    passed = np.mean(np.array(scores) > critical_value(0.05, count))
    assert 0.025 <= passed <= 0.065


def test_the_statistic_at_a_known_place_is_the_rank_sum_test():
    values = np.array([1.0, 2, 2, 3, 1, 2, 3, 9, 8, 9, 9, 7, 8, 9])
    found = shift_in(values)
    assert found.index == 7
    other = stats.mannwhitneyu(values[:7], values[7:], use_continuity=False, method="asymptotic")
    z = stats.norm.isf(other.pvalue / 2.0)
    assert found.statistic * np.sqrt(found.memory) == pytest.approx(z, rel=1e-9)


def test_a_step_is_found_dated_and_measured():
    random = np.random.default_rng(5)
    found = covered = dated = 0
    for _ in range(80):
        change = trend(stepped(random, 80, 50, 2.5)).changes
        if len(change) != 1:
            continue
        found += 1
        covered += change[0].shift.low <= 2.5 <= change[0].shift.high
        dated += (change[0].earliest - START).days < 50 <= (change[0].latest - START).days
    assert found >= 72
    assert covered / found >= 0.88
    assert dated / found >= 0.93


def test_the_range_of_the_date_is_wider_where_the_step_is_small():
    random = np.random.default_rng(15)
    changes = [trend(stepped(random, 80, 40, 1.4)).changes for _ in range(100)]
    ranges = [
        ((each[0].earliest - START).days, (each[0].latest - START).days)
        for each in changes
        if len(each) == 1
    ]
    assert len(ranges) >= 85
    assert np.mean([first < 40 <= last for first, last in ranges]) >= 0.9
    # Half the range that [BAI1997] gives would be 11 sd^2 / size^2, here 5.6 records.
    assert 9 <= np.median([last - first for first, last in ranges]) <= 16


def test_outliers_neither_hide_a_step_nor_make_one():
    random = np.random.default_rng(6)
    values = stepped(random, 90, 60, 3.0)
    values[[5, 20, 40, 70]] += [50.0, -80.0, 60.0, -40.0]
    (change,) = trend(values).changes
    assert abs((change.likeliest - START).days - 60) <= 2
    flat = random.standard_normal(90)
    flat[[80, 85]] += 100.0
    assert trend(flat).changes == ()


@pytest.mark.parametrize(("sign", "word"), [(1.0, "rose"), (-1.0, "fell")])
def test_the_sentence_says_what_changed_by_how_much_and_when(sign, word):
    random = np.random.default_rng(8)
    found = trend(20.0 + sign * stepped(random, 120, 70, 6.0))
    sentence = text_of(found.changes[0].sentence)
    assert f" {word} from " in sentence
    assert " Mar 2026 and 1" in sentence
    assert found.as_dict()["changes"][0]["sentence"] == sentence
    assert found.shift.value == pytest.approx(6.0 * sign, abs=1.0)
    assert found.level.value == pytest.approx(20.0 + 6.0 * sign, abs=0.5)


def test_a_slow_drift_is_called_one_and_has_its_slope():
    random = np.random.default_rng(9)
    count, per_day = 200, 0.02
    found = trend(5.0 + per_day * np.arange(count) + 0.5 * random.standard_normal(count))
    (change,) = found.changes
    assert change.kind is ChangeKind.DRIFT
    assert change.slope.low <= per_day * 30.4375 <= change.slope.high
    assert "a month" in text_of(change.sentence)


def test_two_steps_are_two_changes_in_order():
    random = np.random.default_rng(10)
    right = 0
    for _ in range(30):
        values = stepped(random, 240, 80, 3.0) - 3.0 * (np.arange(240) >= 160)
        at = [(each.likeliest - START).days for each in trend(values).changes]
        right += len(at) == 2 and abs(at[0] - 80) <= 3 and abs(at[1] - 160) <= 3
    # Each of three stretches without a change may alarm in one of twenty.
    assert right >= 24


def test_the_slope_is_that_of_an_own_library():
    random = np.random.default_rng(11)
    time = np.sort(random.uniform(0.0, 60.0, 50))
    values = 0.3 * time + random.standard_normal(50)
    other = stats.theilslopes(values, time)
    slope = slope_of(time, values)
    assert slope.value / 30.4375 == pytest.approx(other.slope, rel=1e-12)
    if slope.low / 30.4375 != pytest.approx(other.low_slope, rel=0.02):
        assert slope.low / 30.4375 < other.low_slope, "memory only ever widens it"


def test_shift_and_level_agree_with_other_routes():
    random = np.random.default_rng(12)
    before, after = random.standard_normal(40), random.standard_normal(30) + 1.0
    every = np.subtract.outer(after, before)
    moved = shift_size(before, after)
    assert moved.value == pytest.approx(np.median(every), rel=1e-12)
    low = stats.quantile_test(before, p=0.5).confidence_interval(0.95)
    level = level_of(before)
    assert level.low == pytest.approx(low.low, abs=0.15)
    assert level.high == pytest.approx(low.high, abs=0.15)


def test_few_records_say_how_many_more_are_needed():
    found = trend([5.0, 5.1, 5.2])
    assert found.missing == FEWEST_VALUES - 3
    assert found.level.verdict.value == "cannot tell"
    assert "9 more records" in text_of(found.sentences[0])
    assert trend([]).missing == FEWEST_VALUES


def test_a_steady_series_says_what_would_have_been_seen():
    random = np.random.default_rng(13)
    seen_from = trend(random.standard_normal(60)).seen_from
    seen = sum(bool(trend(stepped(random, 60, 30, seen_from)).changes) for _ in range(200))
    assert 0.7 <= seen / 200 <= 0.92


def test_equal_values_never_change_and_an_exact_step_is_one():
    assert trend(np.full(40, 7.0)).changes == ()
    (change,) = trend(np.repeat([10.0, 8.0], [30, 15])).changes
    assert (change.kind, change.before.value, change.after.value) == (ChangeKind.STEP, 10.0, 8.0)
    assert (change.likeliest - START).days == 30


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.floats(-1e3, 1e3), min_size=12, max_size=60),
    st.floats(0.1, 10.0),
    st.floats(-100.0, 100.0),
)
def test_the_finding_does_not_hang_on_order_unit_or_zero(values, factor, zero):
    first = np.round(np.array(values), 3)
    found, scaled = shift_in(first), shift_in(-factor * first + zero)
    if found is None:
        return
    assert scaled is None or scaled.statistic == pytest.approx(found.statistic, rel=1e-6)
    order = np.random.default_rng(0).permutation(first.size)
    moments = days(first.size)
    shuffled = trend_of(KEY, UNIT, [moments[at] for at in order], first[order])
    assert shuffled.as_dict() == trend(first).as_dict()


def test_larger_statistics_are_rarer():
    chances = [chance_of(statistic, 50) for statistic in np.linspace(0.0, 8.0, 60)]
    assert np.all(np.diff(chances) <= 0.0)
    assert 0.0 <= chances[-1] < 1e-10


def test_missing_values_are_left_out():
    values = np.repeat([1.0, 4.0], [20, 20]) + np.tile([0.0, 0.1], 20)
    with_gaps = values.copy()
    with_gaps[[3, 30]] = np.nan
    found = trend(with_gaps)
    assert found.count == 38
    assert len(found.changes) == 1


@pytest.mark.parametrize(
    ("moments", "values", "options", "says"),
    [
        (days(3), [1.0], {}, "3 times go with 1 values"),
        (days(2), [1.0, np.inf], {}, "is infinite"),
        ([START, START.replace(tzinfo=None)], [1.0, 2.0], {}, "with and without a zone"),
        (days(2), [1.0, 2.0], {"false_alarm": 0.7}, "false_alarm is 0.7"),
    ],
)
def test_what_cannot_be_used_is_refused(moments, values, options, says):
    with pytest.raises(InputError, match=says):
        trend_of(KEY, UNIT, moments, values, **options)
