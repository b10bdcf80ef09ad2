"""What an option is worth, held against lives whose mean can be told by hand."""

from datetime import date
from decimal import Decimal

import pytest

from tests.web.lives.records.shop import a_stay, agree, records, tool
from tests.web.lives.shops import back_after, came_back
from turnwell.catalogue import load
from turnwell.web.jobs.models import Job, OptionKind
from turnwell.web.lives.analysis.worth import JobWorth, OptionWorth, Priced, pool_of, worth_of_job

pytestmark = pytest.mark.django_db
NEW = date(2024, 1, 1)
TURBINE = "air_turbine_4_hole"
USES, COST, BACK = range(3)


def a_job_now(**fields: object) -> Job:
    return a_stay(tool("Cedar Row", **fields), 725, None)


def option(
    kind: str = "bearings", price: int = 100, *, months: int = 0, currency: str = "EUR"
) -> Priced:
    return Priced(OptionKind(kind), Decimal(price), currency, months)


def judged(*options: Priced, job: Job | None = None) -> JobWorth:
    asked = job or a_job_now()
    return worth_of_job(records(), asked, options)


def alone(priced: Priced, job: Job | None = None) -> OptionWorth:
    (one,) = judged(priced, job=job).options
    return one


def eight_lives(*, counted: bool) -> None:
    """Give eight repairs that lasted 100, 110 ... 170 days, at three cycles a day."""
    for number in range(8):
        one, days = tool("Birch Lane"), 100 + 10 * number
        ends = (50, 50 + 3 * days) if counted else (None, None)
        a_stay(one, -1, 0, cycles=ends[0])
        a_stay(one, days, days + 1, cycles=ends[1], unrepaired=True)


def test_without_any_return_it_says_how_many_jobs_are_missing_and_no_life():
    one = alone(option())
    # Five returns, where two in five jobs are taken to end in one.
    assert one.rests_on.startswith("Cannot tell yet: about 13 more jobs")
    assert (one.readings, one.worth) == ((), None)


def test_the_jobs_missing_follow_from_how_often_they_came_back_here():
    came_back("Birch Lane", [100])
    # One of two lives ended in a return: four more returns take eight jobs.
    one = alone(option())
    assert one.rests_on.startswith("Cannot tell yet: about 8 more jobs")
    assert one.rests_on.endswith("1 returns after a repair are in the book.")
    assert one.readings == ()


def test_one_missing_job_is_told_as_one():
    for day in (100, 120, 140, 160):
        one = tool("Birch Lane")
        a_stay(one, -1, 0)
        a_stay(one, day, day + 1, unrepaired=True)
    assert "about one more job on this class" in alone(option()).rests_on


def test_lives_of_another_class_say_nothing():
    back_after([100, 120, 140, 160, 180, 200], class_key="contra_1_5")
    assert alone(option()).rests_on.startswith("Cannot tell yet")


def test_enough_repairs_of_the_kind_are_judged_by_alone():
    back_after([100, 120, 140, 160, 180, 200])
    one = alone(option("bearings"))
    assert one.rests_on.startswith("6 repairs of this kind (new bearings) on this class")
    assert one.rests_on.endswith("6 came back; counted in days.")
    assert len(one.readings) == 3


def test_where_the_kind_is_thin_the_whole_class_is_judged_by():
    back_after([100, 120, 140, 160, 180, 200])
    one = alone(option("cartridge"))
    # Six with new bearings came back, the six repairs after these did not.
    assert one.rests_on.startswith("Too few of this kind: all 12 repairs on this class")
    assert one.rests_on.endswith("6 came back; counted in days.")
    assert one.pool.kind is None


def test_four_returns_are_too_few_and_five_are_enough():
    back_after([100, 120, 140, 160])
    assert pool_of(records(), TURBINE, OptionKind.BEARINGS).grid is None
    back_after([180])
    assert pool_of(records(), TURBINE, OptionKind.BEARINGS).kind is OptionKind.BEARINGS


def test_a_replacement_is_judged_by_lives_from_new():
    back_after([100, 120, 140, 160, 180, 200])
    for number in range(6):
        one = tool("Birch Lane", in_service_since=NEW, known_cycles_on=NEW)
        a_stay(one, 300 + 10 * number, 305 + 10 * number)
    one = alone(option("replace"))
    assert one.rests_on.startswith("6 lives from new on this class")


def test_counted_lives_are_told_in_cycles():
    eight_lives(counted=True)
    one = alone(option())
    assert one.rests_on.endswith("counted in cycles.")
    # A cycle is a use: on average 3 * 135 of them.
    uses = one.readings[USES]
    assert uses.low < 405 < uses.high
    assert uses.value == pytest.approx(405, rel=0.1)
    assert uses.unit == "uses"


def test_lives_that_were_not_counted_are_told_in_days_at_the_usual_pace():
    eight_lives(counted=False)
    one = alone(option())
    assert one.rests_on.endswith("counted in days.")
    usual = load().paces[TURBINE].uses_a_day
    uses = one.readings[USES]
    assert uses.low < 135 * usual < uses.high
    assert uses.value == pytest.approx(135 * usual, rel=0.15)


def test_a_handpieces_own_pace_goes_before_the_usual_one():
    back_after([100 + number for number in range(60)])
    busy = tool("Cedar Row")
    for day in (0, 100, 200, 300, 400):
        a_stay(busy, day - 1, day, cycles=20 * (day + 1))
    usual, own = alone(option()), alone(option(), a_stay(busy, 725, None))
    assert usual.rests_on.endswith("counted in days.")
    ratio = own.readings[USES].value / usual.readings[USES].value
    assert ratio == pytest.approx(20 / load().paces[TURBINE].uses_a_day, rel=0.1)


def test_without_a_price_of_a_return_cost_a_use_is_in_proportion_to_the_price():
    eight_lives(counted=True)
    job = a_job_now()
    cheap, dear = (alone(option(price=price), job) for price in (100, 200))
    assert dear.readings[USES].value == cheap.readings[USES].value
    assert dear.readings[BACK].value == cheap.readings[BACK].value
    assert dear.readings[COST].value == pytest.approx(2 * cheap.readings[COST].value)
    assert cheap.readings[COST].value == pytest.approx(100 / 405, rel=0.1)
    assert cheap.readings[COST].unit == "EUR a use"


def test_what_a_return_costs_is_added_only_where_the_warranty_is_over():
    for one in back_after([200 + 10 * number for number in range(8)]):
        last = one.jobs.order_by("-taken_in_at")[0]
        assert last.answers.get().option.total == 100
    job = a_job_now()
    given, none = (alone(option(months=months), job) for months in (60, 0))
    # Every one of these repairs comes back: with no warranty its 100 EUR double the price.
    assert none.readings[COST].value == pytest.approx(2 * given.readings[COST].value, rel=0.1)


def test_back_within_the_warranty_is_the_share_that_came_back_by_then():
    back_after([60, 80, 100, 120, 140, 400, 420, 440, 460, 480])
    one = alone(option(months=9))
    # Half of them within nine months.
    back = one.readings[BACK]
    assert back.low < 50 < back.high
    assert back.unit == "%"
    shorter = alone(option(months=1)).readings[BACK]
    assert shorter.value < back.value


def test_the_clearly_cheaper_option_is_named():
    back_after([20 + number for number in range(12)], OptionKind.BEARINGS)
    back_after([400 + 10 * number for number in range(12)], OptionKind.CARTRIDGE)
    found = judged(option("bearings"), option("cartridge"))
    assert found.says.startswith("New cartridge costs least")


def test_one_option_that_can_be_told_is_not_called_the_cheaper_one():
    for number in range(6):
        one = tool("Birch Lane", in_service_since=NEW, known_cycles_on=NEW)
        a_stay(one, 300 + 10 * number, 305 + 10 * number)
    found = judged(option("replace"), option("bearings"))
    assert found.says.startswith("Only one of the options can be told")


def test_options_in_two_currencies_are_not_compared():
    back_after([100, 120, 140, 160, 180, 200])
    found = judged(option("bearings"), option("cartridge", currency="CHF"))
    assert "currencies" in found.says
    assert all(one.readings for one in found.options)


def test_none_told_says_so():
    assert judged(option("bearings"), option("cartridge")).says == "No option can be told yet."


def test_prices_of_returns_in_another_currency_are_not_counted():
    for number in range(8):
        one = tool("Birch Lane")
        agree(a_stay(one, -1, 0))
        agree(a_stay(one, 200 + number, 201 + number), price=900, currency="CHF")
    job = a_job_now()
    in_eur, in_chf = (alone(option(currency=one), job) for one in ("EUR", "CHF"))
    assert in_chf.readings[COST].value > 3 * in_eur.readings[COST].value


def test_options_judged_by_the_same_lives_differ_by_the_price_alone():
    eight_lives(counted=True)
    found = judged(option("bearings", 120), option("cartridge", 100))
    assert "only the price" in found.says
    first, second = found.options
    assert first.readings[USES].value == second.readings[USES].value


def test_nothing_stands_in_for_the_lives_of_a_new_handpiece():
    eight_lives(counted=True)
    one = alone(option("replace"))
    assert one.readings == ()
    assert one.rests_on.startswith("Cannot tell yet")
