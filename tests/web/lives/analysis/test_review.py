"""An office review against figures reckoned by hand from a few stays."""

import re
from datetime import date
from decimal import Decimal

import numpy as np
import pytest
from scipy.stats import chi2

from tests.web.lives.records.shop import a_stay, agree, records, settle, tool
from tests.web.lives.shops import came_back, on, review_office, trained, two_offices
from turnwell.catalogue import load
from turnwell.pictures import RowKind
from turnwell.web.lives.analysis.review import OfficeReview, review_of
from turnwell.web.lives.analysis.review_said import counted, in_short, untold
from turnwell.web.offices.models import Office

pytestmark = pytest.mark.django_db
TODAY = date(2026, 1, 1)
YEAR = 365.25


def reviewed(name: str = "Birch Lane", *, years: int = 2) -> OfficeReview:
    return review_of(records(), review_office(name), today=TODAY, years=years)


def test_returns_and_time_at_risk_are_those_of_the_stays():
    two_offices()
    found = reviewed()
    # From the midnight before the first hand-back, on day 12.
    assert (found.first, found.last) == (on(12), TODAY)
    assert (found.handpieces, found.returns.count) == (1, 2)
    assert found.years == pytest.approx((100 + 100 + 515) / YEAR)


def test_the_rate_has_the_exact_limits_of_its_count():
    two_offices()
    rate, years = reviewed().a_year, 715 / YEAR
    # [GARWOOD1936]: half of chi-squared quantiles over the time at risk.
    limits = chi2.ppf([0.025, 0.975], [4, 6]) / 2 / years
    assert rate.value == pytest.approx(2 / years)
    assert [rate.low, rate.high] == pytest.approx(limits)
    assert rate.limit is None


def test_expected_is_what_all_offices_bring_in_the_same_time():
    two_offices()
    params = reviewed().against.why.params
    # Two returns in 715 days here and 719.5 at Cedar Row from the same midnight on.
    assert params["returns"] == 2
    assert params["expected"] == pytest.approx(2 * 715 / (715 + 719.5))


def test_two_returns_prove_nothing_against_the_other_offices():
    two_offices()
    found = reviewed()
    assert found.against.verdict.key == "not_proven"
    assert found.against.low < 1.0 < found.against.high
    assert in_short(found).startswith("Nothing shows")


def test_an_office_with_many_more_returns_is_said_to_be_above():
    for number in range(5):
        came_back("Birch Lane", range(40 + number, 720, 40))
        for other in ("Cedar Row", "Elm Row", "Fir Road"):
            came_back(other, [300 + 10 * number])
    worst, best = reviewed(), reviewed("Elm Row")
    assert worst.against.verdict.key == "outside"
    assert "more often than those of all offices" in in_short(worst)
    assert best.against.verdict.key == "within"
    assert "less often than those of all offices" in in_short(best)


def test_the_curve_steps_at_the_days_of_the_returns():
    two_offices()
    curve = reviewed().curve
    # Noon of days 112 and 214, counted from the midnight before day 12.
    assert curve.office.days.tolist() == [100.5, 202.5]
    assert curve.office.value.tolist() == [1.0, 2.0]
    assert curve.everyone.value.tolist() == [0.5, 1.0]
    assert (curve.offices, curve.everyone.handpieces) == (2, 2)


def test_the_curve_marks_trainings_apart_from_other_visits():
    two_offices()
    trained("Birch Lane", 300)
    trained("Birch Lane", 400, training=False)
    trained("Cedar Row", 500)
    curve = reviewed().curve
    assert (curve.trainings, curve.visits) == ((on(300),), (on(400),))


def test_the_pace_before_the_newest_training_is_carried_on():
    came_back("Birch Lane", [100, 250, 500])
    came_back("Cedar Row", [120, 270, 520])
    trained("Birch Lane", 300)
    curve = reviewed().curve
    assert curve.old_pace.until == on(300)
    # Two returns in 299.5 days, two of them at the bench.
    assert curve.old_pace.returns_a_year.value == pytest.approx(2 * YEAR / (299.5 - 2))


def test_causes_are_shares_of_the_lives_after_a_hand_back():
    two_offices()
    shown = reviewed().incidence
    share = {row.kind: row for row in shown.rows if row.kind is not RowKind.NOT_SETTLED}
    # Of three lives two ended on day 100 and one ran 515 days.
    assert shown.lives == 3
    assert shown.by == "one year after hand-back"
    assert share[RowKind.CAUSE].name == "Moisture and rust"
    assert share[RowKind.CAUSE].share.value == pytest.approx(2 / 3)
    assert share[RowKind.STILL_RUNNING].share.value == pytest.approx(1 / 3)


def test_the_handpieces_that_came_back_most_stand_first():
    worst = came_back("Birch Lane", [100, 200, 300])
    second = came_back("Birch Lane", [150, 250])
    came_back("Birch Lane", [170])
    came_back("Cedar Row", [100, 200, 300, 400])
    found = reviewed().often
    assert [(one.handpiece.pk, one.returns) for one in found] == [(worst.pk, 3), (second.pk, 2)]
    # All are of one class: expected is in proportion to the time at risk.
    # Two years reach back to the midnight after the first day; each stay took a day.
    assert found[0].years == pytest.approx((731 - 0.5 - 3) / YEAR)
    assert found[0].expected / found[0].years == pytest.approx(found[1].expected / found[1].years)


def test_money_is_what_the_returns_cost_and_not_the_first_stay():
    worn, _ = two_offices()
    agree(worn.jobs.order_by("taken_in_at")[0], price=999)
    found = reviewed()
    assert found.spent.amount == Decimal("250.00")
    assert (found.spent.currency, found.spent.priced, found.spent.returns) == ("EUR", 2, 2)
    assert found.money.note.endswith("2 of 2 returns have a price.")
    assert found.often[0].spent == Decimal("250.00")


def test_money_of_another_currency_is_not_added():
    worn, _ = two_offices()
    agree(a_stay(worn, 400, 402), price=70, currency="CHF")
    found = reviewed()
    assert (found.spent.amount, found.spent.currency) == (Decimal("250.00"), "EUR")
    assert (found.spent.priced, found.spent.returns) == (2, 3)


def test_without_a_price_there_is_no_money():
    came_back("Birch Lane", [100])
    found = reviewed()
    assert found.money is None
    assert found.avoidable is None
    assert "What the returns cost" in [one.what for one in untold(found)]


def test_avoidable_money_is_returns_prevented_times_their_mean_cost():
    two_offices()
    found = reviewed()
    best = found.effects.best
    assert found.avoidable.value == pytest.approx(best.prevented.value * 125.0, rel=0.3)
    assert found.avoidable.low < found.avoidable.value < found.avoidable.high
    assert found.avoidable.unit == "EUR a year"


def test_the_first_action_is_against_the_cause_that_was_settled():
    two_offices()
    first = reviewed().actions[0]
    assert "moisture and rust" in first.why
    assert re.search(r"\(2 (of the )?returns here", first.why)
    assert "common practice, not yet measured here" in first.why
    assert 0.0 < first.fewer.low < first.fewer.value < first.fewer.high


def test_without_a_settled_cause_no_action_is_named():
    came_back("Birch Lane", [100, 200])
    found = reviewed()
    assert found.actions == ()
    assert found.effects.why_not.startswith("Cannot tell: no return of this office has a settled")


def test_a_period_leaves_out_what_came_before_it():
    two_offices()
    found = reviewed(years=1)
    # From 1 January 2025, day 366; both returns lie before.
    assert found.first == on(366)
    assert found.returns.count == 0
    assert found.years == pytest.approx((731 - 365.5) / YEAR)
    assert found.a_year.value == 0.0
    assert found.a_year.high == pytest.approx(chi2.ppf(0.975, 2) / 2 / found.years)


def test_an_office_without_handpieces_says_that_it_cannot_tell():
    Office.objects.create(name="Empty Yard")
    two_offices()
    found = reviewed("Empty Yard")
    assert (found.handpieces, found.returns.count, found.years) == (0, 0, 0.0)
    assert in_short(found).startswith("Cannot tell yet: no handpiece of this office")
    assert found.a_year.value is None
    assert found.against.value is None
    assert found.curve is None
    assert found.causes is None
    assert {one.what for one in untold(found)} == {
        "Why handpieces come back",
        "What to change first",
    }


def test_one_office_alone_is_held_against_nobody():
    came_back("Birch Lane", [100, 200])
    found = reviewed()
    assert found.against.value is None
    assert found.curve.everyone is None
    assert "there is no other office to compare with" in in_short(found)


def test_where_nothing_came_back_nothing_is_made_up():
    tool("Cedar Row")
    came_back("Birch Lane", [])
    found = reviewed()
    assert (found.handpieces, found.returns.count) == (1, 0)
    assert found.against.value is None
    assert found.often == ()
    assert found.actions == ()
    assert found.curve.office.most_of_none > 0.0


def test_a_stay_for_a_test_is_no_return():
    one = came_back("Birch Lane", [100])
    a_stay(one, 300, 301, reason="test_only")
    assert reviewed().returns.count == 1


def test_the_page_says_how_it_was_counted():
    two_offices()
    lines = dict(counted(reviewed()))
    assert "2.0 handpiece-years" in lines["Under observation"]
    assert "counted in days" in lines["Causes"]
    assert lines["Returns"].startswith("Stays for a fault: 2,")


def test_a_cause_settled_anew_counts_as_it_was_settled_last():
    worn, _ = two_offices()
    settle(worn.jobs.order_by("taken_in_at")[2], "chemical_residue")
    names = {row.name: row.returns for row in reviewed().incidence.rows if row.returns}
    assert names["Moisture and rust"] == 1
    assert np.isclose(sum(names.values()), 3)


def test_actions_against_causes_that_never_came_are_not_named():
    two_offices()
    assert len(reviewed().actions) == 1


def test_where_no_action_is_known_against_the_cause_it_says_so():
    one = came_back("Birch Lane", [100, 300])
    came_back("Cedar Row", [200])
    without = sorted({*load().causes} - {*load().effects})[0]
    settle(one.jobs.order_by("taken_in_at")[1], without)
    found = reviewed()
    assert found.actions == ()
    assert found.effects.why_not.startswith("Cannot tell: no action is known against")
    assert found.avoidable is None


def test_the_first_day_is_that_of_the_offices_own_clock():
    came_back("Birch Lane", [100], first=10)
    # Noon in Greenwich is the small hours of the next day in Auckland, of the same day in Denver.
    for zone, day in (("UTC", 10), ("Pacific/Auckland", 11), ("America/Denver", 10)):
        Office.objects.update(time_zone=zone)
        assert reviewed().first == on(day)


def test_nothing_watched_in_the_small_hours_is_lost():
    came_back("Birch Lane", [100], first=9.6)  # 02:24 in Greenwich, the evening before in Denver
    Office.objects.update(time_zone="America/Denver")
    assert reviewed().first == on(9)
