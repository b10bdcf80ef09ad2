"""Drying cut short by weekday and hour: counts that are right, and no habit seen where none is."""

from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from turnwell.errors import InputError
from turnwell.steam.months import DryingRun, habits_of, share_of, turn_at
from turnwell.words import text_of

MONDAY = datetime(2026, 1, 5, tzinfo=UTC)
WEEKS = 26


def working_week(random, *, usual, friday=None):
    """Give half a year of ten runs a day; each is cut short by chance."""
    runs = []
    for day in range(7 * WEEKS):
        if day % 7 > 4:
            continue
        for hour in random.integers(8, 18, 10):
            moment = MONDAY + timedelta(days=day, hours=int(hour))
            is_late = friday is not None and day % 7 == 4 and hour >= 12
            runs.append(DryingRun(moment, bool(random.random() < (friday if is_late else usual))))
    return runs


def half_days_out(habits):
    return [(cell.weekday, cell.afternoon) for cell in habits.half_days if cell.stands_out]


def test_friday_afternoon_is_named_with_its_counts():
    runs = working_week(np.random.default_rng(1), usual=0.05, friday=0.5)
    habits = habits_of(runs)
    assert half_days_out(habits) == [(4, True)]
    late = [r for r in runs if r.started_at.weekday() == 4 and r.started_at.hour >= 12]
    short = sum(run.is_cut_short for run in late)
    assert f"Friday afternoon: drying cut short in {short} of {len(late)} runs" in text_of(
        habits.sentences[0]
    )
    assert habits.every.runs == len(runs)
    assert sum(cell.share.runs for cell in habits.hours) == len(runs)
    assert sum(cell.share.short for cell in habits.half_days) == habits.every.short


def test_where_the_week_makes_no_difference_hardly_anything_stands_out():
    random = np.random.default_rng(2)
    tables = 60
    alarms = 0
    for _ in range(tables):
        habits = habits_of(working_week(random, usual=0.1))
        alarms += any(cell.stands_out for cell in (*habits.half_days, *habits.hours))
    assert alarms / tables <= 0.05 + 3.0 * np.sqrt(0.05 * 0.95 / tables)


def test_the_chance_of_a_part_is_fishers():
    habits = habits_of(working_week(np.random.default_rng(3), usual=0.2))
    for cell in habits.hours:
        table = [
            [cell.share.short, cell.share.runs - cell.share.short],
            [cell.rest.short, cell.rest.runs - cell.rest.short],
        ]
        assert cell.chance == pytest.approx(
            stats.fisher_exact(table, alternative="greater").pvalue, rel=1e-8
        )


def test_hours_that_hardly_ran_do_not_dilute_the_others():
    often = [DryingRun(MONDAY + timedelta(hours=9), at < 3) for at in range(12)]
    often += [DryingRun(MONDAY + timedelta(days=1, hours=9), False) for _ in range(12)]
    once = [
        DryingRun(MONDAY + timedelta(days=day, hours=hour), False)
        for day in range(2, 7)
        for hour in range(24)
    ]
    out = [(c.weekday, c.hour) for c in habits_of([*often, *once]).hours if c.stands_out]
    assert out == [(0, 9)]


# [NEWCOMBE1998], table II, method 10, 95 %: a/m, b/n, and the interval of a/m - b/n.
@pytest.mark.parametrize(
    ("first", "second", "low", "high"),
    [
        ((56, 70), (48, 80), 0.0524, 0.3339),
        ((9, 10), (3, 10), 0.1705, 0.8090),
        ((6, 7), (2, 7), 0.0582, 0.8062),
        ((5, 56), (0, 29), -0.0381, 0.1926),
        ((10, 10), (0, 10), 0.6075, 1.0000),
    ],
)
def test_the_difference_has_its_published_interval(first, second, low, high):
    turn = turn_at([*runs_of(second, month=1), *runs_of(first, month=3)], date(2026, 2, 1))
    assert turn.difference.low == pytest.approx(100.0 * low, abs=0.0051)
    assert turn.difference.high == pytest.approx(100.0 * high, abs=0.0051)


def runs_of(counts, *, month):
    short, runs = counts
    return [DryingRun(datetime(2026, month, 5, tzinfo=UTC), at < short) for at in range(runs)]


@settings(max_examples=80, deadline=None)
@given(st.integers(4, 60), st.integers(4, 60), st.floats(0, 1), st.floats(0, 1))
def test_a_turn_has_fishers_chance_and_is_shown_where_its_interval_leaves_0_out(
    before, after, first, second
):
    counts = (round(first * before), before), (round(second * after), after)
    turn = turn_at([*runs_of(counts[0], month=1), *runs_of(counts[1], month=3)], date(2026, 2, 1))
    table = [[short, runs - short] for short, runs in counts]
    assert turn.chance == pytest.approx(stats.fisher_exact(table).pvalue, rel=1e-6)
    assert turn.difference.low <= turn.difference.value <= turn.difference.high
    assert turn.is_shown == (turn.difference.low > 0.0 or turn.difference.high < 0.0)
    assert turn.is_shown == (turn.sentence.key != "steam_trend.turn.not_shown")


@settings(max_examples=60, deadline=None)
@given(st.integers(1, 400), st.floats(0, 1))
def test_a_share_has_the_score_interval(runs, part):
    short = round(part * runs)
    share = share_of(short, runs)
    other = stats.binomtest(short, runs).proportion_ci(method="wilson")
    assert (share.low, share.high) == pytest.approx((other.low, other.high), abs=1e-12)


def test_the_day_of_the_change_counts_as_after():
    runs = [DryingRun(datetime(2026, 2, 1, 0, 0, tzinfo=UTC), True)] * 5
    runs += [DryingRun(datetime(2026, 1, 31, 23, 59, tzinfo=UTC), False)] * 5
    turn = turn_at(runs, date(2026, 2, 1))
    assert (turn.before.short, turn.after.short) == (0, 5)
    assert "more often since 1 Feb 2026: 0 % before (0 of 5), 100 % after (5 of 5)" in text_of(
        turn.sentence
    )


def test_few_runs_cannot_tell():
    turn = turn_at(runs_of((1, 2), month=1), date(2026, 2, 1))
    assert turn.difference.verdict.value == "cannot tell"
    assert "2 runs before and 0 after; it takes 4 more" in text_of(turn.sentence)
    habits = habits_of([])
    assert habits.share.verdict.value == "cannot tell"
    assert (habits.half_days, habits.hours) == ((), ())


def test_the_document_holds_plain_values():
    habits = habits_of(working_week(np.random.default_rng(5), usual=0.05, friday=0.6))
    document = habits.as_dict()
    assert document["reading"]["value"] == pytest.approx(100.0 * habits.every.value)
    assert {cell["weekday"] for cell in document["half_days"]} == set(range(5))
    assert turn_at([], date(2026, 1, 1)).as_dict()["is_shown"] is False


def test_counts_that_cannot_be_are_refused():
    with pytest.raises(InputError, match="5 of 4 runs"):
        share_of(5, 4)
    with pytest.raises(InputError, match="false_alarm is 1"):
        habits_of([], false_alarm=1.0)
