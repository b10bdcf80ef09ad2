"""The answer to a table: against published figures, and what is said where it cannot be told."""

import json

import numpy as np
import pytest

from tests.life.published import (
    BEARINGS,
    CAUSES,
    FIVE_SYSTEMS,
    LATE_ENTRY,
    ONE_SYSTEM,
    REMISSION,
    TWENTY_UNITS,
)
from turnwell.errors import InputError
from turnwell.life import Histories, Lives, read_table
from turnwell.life.curves import log_rank, product_limit
from turnwell.life.returns import difference, mean_cumulative
from turnwell.life.summary_of import ASSUMED_SHAPE, summary_of
from turnwell.life.weibull import scale_bound, weibull_fit

OFFICES = b"exit,failed,group,office\n" + b"".join(
    f"{age},{int(age % 3 > 0)},{'ab'[n % 2]},o{n % 5}\n".encode()
    for n, age in enumerate(range(20, 320, 10))
)
GROUPED_RETURNS = (
    b"id,time,event,group,cost\n"
    + b"".join(
        f"{n},{at},1,{'often' if n < 5 else 'seldom'},{10 + n}\n".encode()
        for n in range(10)
        for at in ((20 + n, 50 + n, 70 + n) if n < 5 else (60 + n,))
    )
    + b"".join(f"{n},100,0,,\n".encode() for n in range(10))
)


def of(content, **options):
    return summary_of(read_table(content, "t.csv"), **options)


def value(summary, key):
    return summary.reading(key).value


def test_weibull_figures_match_the_handbook():
    summary = of(TWENTY_UNITS)
    # Value: [NISTHANDBOOK], 8.4.1.3, printed 606.5280 and 1.7208. Interval: by two ways of our own.
    assert value(summary, "weibull_scale") == pytest.approx(606.528, abs=0.001)
    assert value(summary, "weibull_shape") == pytest.approx(1.7208, abs=5e-5)
    shape = summary.reading("weibull_shape")
    assert (shape.low, shape.high) == pytest.approx((0.90565, 2.88574), abs=5e-5)
    assert summary.reading("weibull_scale").unit == "days"
    assert (summary.n, summary.failures, summary.watched) == (20, 10, 7771.0)


def test_weibull_figures_of_the_bearings_match_the_published_ones():
    summary = of(BEARINGS)
    # 81.875 and 2.102 as printed with the data in a public library.
    assert value(summary, "weibull_scale") == pytest.approx(81.875, abs=5e-4)
    assert value(summary, "weibull_shape") == pytest.approx(2.102, abs=5e-4)
    # The median by its definition: scale (ln 2)^(1 / shape).
    median = 81.87456 * np.log(2.0) ** (1.0 / 2.101848)
    assert value(summary, "median_life") == pytest.approx(median, rel=1e-5)


def test_the_curve_of_the_treated_matches_the_published_one():
    treated = b"\n".join(row for row in REMISSION.splitlines() if b"placebo" not in row)
    curve = of(treated).curve
    # [KLEINMOESCHBERGER2003], 4.2.
    printed = [0.857, 0.807, 0.753, 0.690, 0.627, 0.538, 0.448]
    assert curve.time.tolist() == [6, 7, 10, 13, 16, 22, 23]
    assert curve.value.tolist() == pytest.approx(printed, abs=5e-4)


def test_the_log_rank_test_matches_the_published_one_and_stands_twice():
    document = of(REMISSION).as_dict()
    reading = next(row for row in document["readings"] if row["key"] == "logrank")
    # 16.79 in [KLEINMOESCHBERGER2003]; p by two public libraries.
    assert reading["value"] == pytest.approx(16.792941, abs=1e-6)
    assert reading["p"] == pytest.approx(4.1688e-5, rel=1e-4)
    assert document["logrank"]["chi2"] == reading["value"]
    assert (document["logrank"]["p"], document["logrank"]["degrees"]) == (reading["p"], 1)
    assert [(g["name"], g["n"], g["failures"]) for g in document["groups"]] == [
        ("treated", 21, 9),
        ("placebo", 21, 21),
    ]
    assert reading["why"] == "The groups differ (p below 0.001)."


def test_a_group_has_the_readings_that_it_has_alone():
    summary = of(REMISSION)
    alone = of(b"\n".join(r for r in REMISSION.splitlines() if b"treated" not in r)[:-1] + b"\n")
    assert summary.groups[1].readings == alone.readings


def test_late_entry_counts_from_entry_on():
    summary = of(LATE_ENTRY, ages=[4, 6, 8, 20])
    seen = [point.observed.value for point in summary.points[:3]]
    # By hand: 3/4, times 3/4, times 1/2.
    assert seen == pytest.approx([0.75, 0.5625, 0.28125], abs=1e-12)
    assert [point.at_risk for point in summary.points] == [4, 4, 2, 0]
    assert summary.points[3].observed is None
    assert summary.points[3].fitted.value > 0.0
    lives = Lives.observed([4, 6, 7, 8, 9], [1, 1, 0, 1, 1], entry=[0, 0, 2, 3, 5])
    fit = weibull_fit(lives, calibrated=False)
    assert value(summary, "weibull_shape") == fit.shape.value


def test_shares_of_causes_match_the_published_ones_and_add_up():
    summary = of(CAUSES)
    shares = {row.cause: row.share.value for row in summary.causes}
    printed = {"cause 1": 0.17037037, "cause 2": 0.20740741, "cause 3": 0.26666667}
    assert shares == pytest.approx(printed, abs=5e-9)
    assert sum(shares.values()) + summary.curve.value[-1] == pytest.approx(1.0, abs=1e-12)
    assert [row.cause for row in summary.causes] == ["cause 3", "cause 2", "cause 1"]


def test_failures_without_a_cause_have_a_share_of_their_own():
    causes = of(b"exit,failed,cause\n1,1,wear\n2,1,\n3,1,?\n4,0,\n").causes
    assert [(row.cause, row.failures) for row in causes] == [("", 2), ("wear", 1)]


def test_with_several_offices_there_are_intervals_over_offices():
    summary = of(OFFICES)
    table = read_table(OFFICES)
    fit = weibull_fit(table.lives, calibrated=False)
    robust = summary.reading("weibull_shape_by_office")
    assert (robust.low, robust.high) == (fit.robust_shape.low, fit.robust_shape.high)
    assert robust.low != summary.reading("weibull_shape").low
    assert summary.reading("median_life_by_office").value == value(summary, "median_life")
    logrank = summary.as_dict()["logrank"]
    groups = [table.lives.chosen(table.group == place) for place in (0, 1)]
    assert logrank["over_offices_p"] == log_rank(groups).over_offices_p
    strata = log_rank(groups, strata=[lives.office for lives in groups])
    assert logrank["within_offices_p"] == strata.p


def test_mean_returns_match_the_published_ones():
    summary = of(FIVE_SYSTEMS, ages=[5, 12, 15, 20, 28])
    assert (summary.n, summary.failures) == (5, 14)
    assert value(summary, "mean_cumulative_returns") == pytest.approx(11.0 / 3.0, abs=1e-9)
    seen = [point.observed.value for point in summary.points]
    assert seen == pytest.approx([0.2, 0.8, 1.6, 7.0 / 3.0, 11.0 / 3.0], abs=1e-9)


def test_the_power_law_matches_the_handbook():
    summary = of(ONE_SYSTEM)
    # [MILHDBK189], appendix C, printed .7163.
    assert value(summary, "power_law_shape") == pytest.approx(0.71633926, abs=1e-8)
    one = summary.reading("mean_cumulative_returns")
    # 27 returns of one unit, limits of a Poisson count [GARWOOD1936].
    assert (one.value, one.low, one.high) == pytest.approx((27.0, 17.7932, 39.2836), abs=5e-5)


def test_the_trend_has_its_p_in_the_reading_and_beside_it():
    times = (5, 40, 43, 175, 389, 712, 747, 795, 1299, 1478)
    rows = "".join(f"s,{at},1\n" for at in times) + "s,1500,0\n"
    document = of(f"id,time,event\n{rows}".encode()).as_dict()
    reading = next(row for row in document["readings"] if row["key"] == "trend")
    # Data: [NISTHANDBOOK], 8.2.3.4; U by its definition; chi-square 37.23 and 33 reversals there.
    assert reading["value"] == pytest.approx(-1.326949, abs=1e-6)
    assert reading["p"] == document["trend"]["p"] == pytest.approx(0.184526, abs=1e-5)
    assert document["trend"]["chi2"] == pytest.approx(37.23, abs=0.005)
    # Twice the upper tail of 37.228 on 20 degrees of freedom.
    assert document["trend"]["chi2_p"] == pytest.approx(2.0 * 0.01098636, rel=1e-5)
    assert document["trend"]["reversals"] == 33
    assert reading["verdict"] == "no limit"


def test_groups_of_returns_are_held_against_the_first():
    summary = of(GROUPED_RETURNS)
    table = read_table(GROUPED_RETURNS)
    parts = [table.histories.chosen(table.group == place) for place in (0, 1)]
    told = difference(*parts)
    found = summary.differences[0]
    assert (found.first, found.second) == ("often", "seldom")
    assert found.difference.value == pytest.approx(2.0)
    assert (found.difference, found.p) == (told.at(told.end), told.p)
    assert [group.n for group in summary.groups] == [5, 5]


def test_the_cost_of_returns_is_a_reading_of_its_own():
    summary = of(GROUPED_RETURNS)
    # Three returns at 10, 11 ... 14 and one at 15 ... 19, over ten units.
    assert value(summary, "mean_cumulative_cost") == pytest.approx((3 * 60 + 85) / 10)
    assert value(summary, "mean_cumulative_returns") == pytest.approx(2.0)


@pytest.mark.parametrize("shape", [1.0, ASSUMED_SHAPE, 3.0])
def test_where_nothing_failed_the_scale_is_bounded(shape):
    summary = of(b"exit,failed\n" + b"1000,0\n" * 10, assumed_shape=shape)
    assert not summary.answered
    assert {reading.verdict.value for reading in summary.readings} == {"cannot tell"}
    # (10 x 1000^b / -ln 0.05)^(1 / b), by hand.
    assert summary.bound.value == pytest.approx((10 * 1000.0**shape / 2.99573) ** (1 / shape), 1e-5)
    assert summary.as_dict()["bound"]["assumed_shape"] == shape
    lives = Lives.observed([1000.0] * 10, [0] * 10)
    assert summary.bound.value == scale_bound(lives, shape=shape).low


def test_a_group_in_which_nothing_failed_has_a_bound_of_its_own():
    summary = of(b"exit,failed,group\n5,1,a\n6,1,a\n9,0,b\n9,0,b\n")
    assert summary.bound is None
    assert [group.bound is None for group in summary.groups] == [True, False]


def test_where_nothing_came_back_the_rate_is_bounded():
    summary = of(b"id,time,event\na,100,0\nb,200,0\n")
    # Three over what was watched: -ln 0.05 / 300.
    assert summary.bound.value == pytest.approx(2.99573 / 300.0, rel=1e-5)
    assert summary.bound.unit == "1/day"
    assert value(summary, "power_law_shape") is None
    # None in the one unit that was watched to the end: -ln 0.025 at most.
    mean = summary.reading("mean_cumulative_returns")
    assert (mean.value, mean.high) == (0.0, pytest.approx(3.688879, abs=1e-6))


def test_failures_at_one_age_are_told_by_the_curve_alone():
    summary = of(b"exit,failed\n5,1\n5,1\n5,1\n")
    assert not summary.answered
    assert "at one age" in str(summary)
    assert summary.curve.value.tolist() == [0.0]


def test_one_group_and_groups_without_failures_are_not_compared():
    one = of(b"exit,failed,group\n5,1,a\n6,1,a\n").as_dict()
    assert (one["logrank"]["p"], len(one["groups"])) == (None, 1)
    none = of(b"exit,failed,group\n5,0,a\n6,0,b\n").as_dict()
    reading = next(row for row in none["readings"] if row["key"] == "logrank")
    assert (reading["value"], reading["verdict"]) == (None, "cannot tell")


@pytest.mark.parametrize(
    ("options", "says"),
    [
        ({"ages": [-1.0]}, "age is -1.0, must be finite and >= 0"),
        ({"ages": [float("nan")]}, "age is nan"),
        ({"ages": [1.0] * 51}, "51 ages were asked for; give 50 at most"),
        ({"assumed_shape": 0.0}, "the assumed shape is 0, must lie between 0.05 and 50"),
    ],
)
def test_options_out_of_range_are_refused(options, says):
    with pytest.raises(InputError, match=says):
        of(TWENTY_UNITS, **options)


def test_a_long_curve_is_thinned_with_both_its_ends():
    ages = np.arange(1, 2001)
    content = "exit,failed\n" + "".join(f"{age},1\n" for age in ages.tolist())
    curve = of(content.encode()).curve
    assert (curve.steps, curve.time.size) == (2000, 500)
    assert (curve.time[0], curve.time[-1]) == (1.0, 2000.0)
    whole = product_limit(Lives.observed(ages, [1] * 2000))
    kept = np.searchsorted(whole.time, curve.time)
    assert np.array_equal(curve.value, whole.survival[kept])


def test_it_prints_and_gives_columns():
    summary = of(BEARINGS)
    text = str(summary).splitlines()
    assert text[0] == "t.csv: 23 lives, 23 failed, 1,661 days watched in all."
    assert text[1].startswith("Weibull shape: 2.10185")
    columns = summary.as_columns()
    assert columns["key"] == ["weibull_shape", "weibull_scale", "median_life"]
    assert {len(column) for column in columns.values()} == {3}
    json.dumps(summary.as_dict(), allow_nan=False)


def test_mean_returns_are_those_of_the_method():
    histories = Histories.of([17, 19, 26], [0, 0, 1, 2, 2], [5, 15, 6, 12, 20], clock="cycles")
    summary = of(b"id,time,event\na,5,1\na,15,1\na,17,0\nb,6,1\nb,19,0\nc,12,1\nc,20,1\nc,26,0\n")
    curve = mean_cumulative(histories)
    reading = summary.reading("mean_cumulative_returns")
    told = curve.at(26)
    assert (reading.value, reading.low, reading.high) == (told.value, told.low, told.high)


def test_wear_is_not_claimed_on_an_interval_that_is_too_short():
    """Three failures: the likelihood's interval leaves 1 out, the calibrated one does not."""
    rows = ["id,exit,failed", *(f"a{n},{age},1" for n, age in enumerate((50.0, 80.0, 100.0)))]
    table = read_table("\n".join(rows).encode(), "few.csv")
    plain = weibull_fit(table.lives, calibrated=False).shape
    assert plain.low > 1.0 > weibull_fit(table.lives).shape.low
    reading = summary_of(table).reading("weibull_shape")
    assert (reading.low, reading.high) == (plain.low, plain.high)
    assert reading.why.key == "life_summary.age_hardly_shown"
