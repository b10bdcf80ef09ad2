"""The round's figures: offices side by side, the quarter ahead, repairs that last or do not."""

from datetime import timedelta
from decimal import Decimal

import pytest
from scipy.stats import nbinom

from tests.people import theo_the_technician
from tests.web.lives.records.shop import NOW, a_stay, agree, records, tool
from tests.web.lives.shops import LAST, back_after, came_back, two_offices
from turnwell.pictures import Beyond
from turnwell.web.jobs.models import Job, OptionKind, PartUsed
from turnwell.web.lives.analysis.expectation import expectation_between
from turnwell.web.lives.analysis.lasting import lasting_of
from turnwell.web.lives.analysis.quarter import other_jobs, parts_to_hold, reserve_of
from turnwell.web.lives.analysis.round import Standings, standings_of
from turnwell.web.lives.records import ShopRecords
from turnwell.web.offices.models import Office

pytestmark = pytest.mark.django_db
A_YEAR = 31_557_600  # of 365.25 days, in seconds


def stands(found: ShopRecords) -> Standings | None:
    whole = expectation_between(found, 0, found.now_s)
    return standings_of(found, whole, expectation_between(found, found.now_s - A_YEAR, found.now_s))


def named(found: Standings) -> list[str]:
    names = dict(Office.objects.values_list("pk", "name"))
    return [names[one.office] for one in found.offices]


def one_bad_office() -> None:
    for number in range(6):
        came_back("Birch Lane", range(30 + number, 720, 50))
        for other in ("Cedar Row", "Elm Row", "Fir Road", "Gate Yard"):
            came_back(other, [300 + 10 * number])


def test_returns_and_expected_are_those_of_the_stays():
    two_offices()
    found = {one.returns: one for one in stands(records()).offices}
    # 715 and 728 days at risk: two returns are shared out by them.
    assert found[2].expected == pytest.approx(2 * 715 / (715 + 728))
    assert found[0].expected == pytest.approx(2 * 728 / (715 + 728))


def test_expected_returns_add_up_to_those_that_came():
    one_bad_office()
    found = stands(records())
    assert sum(one.expected for one in found.offices) == pytest.approx(
        sum(one.returns for one in found.offices)
    )


def test_the_office_most_surely_above_stands_first():
    one_bad_office()
    found = stands(records())
    first, *rest = found.offices
    assert named(found)[0] == "Birch Lane"
    assert first.chance_above > 0.99
    assert first.ratio.low > 1.0
    # Its own spread widens the limits with so few offices; it lies beyond them all the same.
    assert first.beyond is not Beyond.NEITHER
    assert all(one.chance_above < 0.5 for one in rest)


def test_a_ratio_is_drawn_toward_the_shop():
    two_offices()
    worn = next(one for one in stands(records()).offices if one.returns == 2)
    assert 1.0 < worn.ratio.value < worn.returns / worn.expected
    assert worn.ratio.low < 1.0 < worn.ratio.high
    assert worn.beyond is Beyond.NEITHER


def test_the_funnel_holds_every_office_by_its_name():
    one_bad_office()
    found = stands(records())
    picture = found.picture(dict(Office.objects.values_list("pk", "name")), by="returns")
    assert sorted(one.name for one in picture.offices) == sorted(
        ["Birch Lane", "Cedar Row", "Elm Row", "Fir Road", "Gate Yard"]
    )


def test_without_a_return_there_are_no_standings():
    came_back("Birch Lane", [])
    assert stands(records()) is None


def test_an_office_whose_classes_never_came_back_is_left_out():
    two_offices()
    came_back("Elm Row", [], class_key="contra_1_5")
    assert sorted(named(stands(records()))) == ["Birch Lane", "Cedar Row"]


def test_the_next_quarter_goes_on_at_the_rates_of_the_last_year():
    for number in range(40):
        came_back(f"Office {number % 4}", range(50 + 5 * number, 720, 150))
    found = records()
    year = found.tallies(found.now_s - A_YEAR, found.now_s)
    returns, years = year.returns.sum(), year.years.sum()
    coming = stands(found).coming
    # All forty are at work, a quarter of a year each.
    assert coming.value == pytest.approx(40 * 0.25 * returns / years, rel=0.05)
    assert coming.low < coming.value < coming.high
    assert coming.interval.name == "PREDICTIVE"


@pytest.mark.parametrize("since", [LAST - 1, LAST])
def test_what_is_at_the_bench_now_is_not_expected_back(since: int):
    two_offices()
    before = stands(records()).coming.value
    a_stay(Office.objects.get(name="Cedar Row").handpieces.get(), since, None)
    found = stands(records())
    after = found.coming.value
    quiet = next(one for one in found.offices if one.returns < 2)
    assert quiet.coming.high == 0.0
    assert after > 0.0
    assert before > 0.0


def test_other_jobs_are_the_stays_that_are_no_return():
    one = came_back("Birch Lane", [500, 600])
    for day in (450, 550, 650):
        a_stay(one, day, day + 1, reason=Job.Reason.PLANNED)
    a_stay(one, 100, 101, reason=Job.Reason.PLANNED)
    found = other_jobs(records())
    # Three in the last twelve months, the two returns and what lies further back not counted.
    assert found.why.params["count"] == 3
    assert found.value == pytest.approx(3 / 4, rel=0.35)
    assert found.low == 0.0


def test_parts_to_hold_are_those_of_twelve_months():
    job = a_stay(tool(), 720, None)
    for name, quantity, days in (("cartridge", 4, 10), ("cartridge", 8, 300), ("ring", 30, 20)):
        PartUsed.objects.create(
            job=job,
            name=name,
            quantity=Decimal(quantity),
            entered_by=theo_the_technician(),
            entered_at=NOW - timedelta(days=days),
        )
    PartUsed.objects.create(
        job=job,
        name="gasket",
        quantity=Decimal(9),
        entered_by=theo_the_technician(),
        entered_at=NOW - timedelta(days=370),
    )
    found = parts_to_hold(NOW)
    assert [(one.name, one.used) for one in found] == [("ring", 30.0), ("cartridge", 12.0)]
    # Twelve in twelve months: gamma-Poisson demand of three, its rate known by 12 uses.
    need = nbinom.ppf(0.95, 12.5, 1 / (1 + 3 / 12))
    assert abs(found[1].stock.parts - need) <= 1


def test_a_part_taken_back_is_not_counted():
    row = PartUsed.objects.create(
        job=a_stay(tool(), 720, None),
        name="ring",
        quantity=Decimal(1),
        entered_by=theo_the_technician(),
        entered_at=NOW - timedelta(days=2),
    )
    PartUsed.objects.create(
        job=row.job,
        name="ring",
        quantity=Decimal(1),
        entered_by=theo_the_technician(),
        entered_at=NOW - timedelta(days=1),
        corrects=row,
        correction_reason="never put in",
        is_taken_back=True,
    )
    assert parts_to_hold(NOW) == ()


def under_warranty(count: int, kind: str | None = OptionKind.BEARINGS) -> None:
    for _ in range(count):
        agree(a_stay(tool("Cedar Row"), 690, 700), kind, price=80, warranty_months=12)


def test_the_reserve_rests_on_the_repairs_under_warranty():
    back_after([100, 120, 140, 160, 180, 200])
    under_warranty(5)
    found = reserve_of(records())
    assert (found.handpieces, found.left_out, found.currency) == (5, 0, "EUR")
    returns, cost = found.readings
    # At 31 days now, most are back between 100 and 200 days: few by day 122, at 80 EUR each.
    assert 0.0 < returns.value < 5.0
    assert cost.value == pytest.approx(80 * returns.value, rel=0.05)
    assert found.suffices >= cost.value
    assert cost.unit == "EUR"


def test_repairs_too_few_to_tell_are_left_out_and_counted():
    under_warranty(4)
    found = reserve_of(records())
    assert (found.handpieces, found.left_out, found.readings) == (4, 4, ())
    assert found.suffices is None


def test_without_a_warranty_there_is_no_reserve():
    came_back("Birch Lane", [100])
    found = reserve_of(records())
    assert (found.handpieces, found.readings, found.currency) == (0, (), "")


def test_a_repair_without_an_agreed_option_is_not_taken_for_a_replacement():
    # An earlier warranty runs on; the last repair itself was never agreed to.
    back_after([100, 120, 140, 160, 180, 200])
    for _ in range(3):
        one = tool("Cedar Row")
        agree(a_stay(one, 500, 501), price=80, warranty_months=12)
        a_stay(one, 600, 601)
    found = reserve_of(records())
    assert (found.handpieces, found.left_out) == (3, 0)


def test_the_share_back_in_half_a_year_is_counted():
    back_after([100] * 6 + [400] * 4, OptionKind.BEARINGS)
    back_after([100] + [400] * 9, OptionKind.CARTRIDGE)
    short, long = lasting_of(records())
    assert (short.kind, short.lives, short.returns) == (OptionKind.BEARINGS, 10, 10)
    assert short.back.value == pytest.approx(60.0)
    assert long.back.value == pytest.approx(10.0)
    assert short.median.value == pytest.approx(100.0)
    assert long.median.value == pytest.approx(400.0)
    assert short.clock == "days"


def test_only_a_share_with_its_whole_interval_above_the_class_is_called_short():
    back_after([100] * 6 + [400] * 4, OptionKind.BEARINGS)
    back_after([100] + [400] * 9, OptionKind.CARTRIDGE)
    short, long = lasting_of(records())
    # Of all forty lives seven were back: 17.5 %.
    assert short.back.low > 17.5
    assert (short.is_short, long.is_short) == (True, False)


def test_a_share_that_chance_may_have_raised_is_not_called_short():
    back_after([100] * 3 + [400] * 7, OptionKind.BEARINGS)
    back_after([100] * 2 + [400] * 8, OptionKind.CARTRIDGE)
    more, _ = lasting_of(records())
    # 30 % against 12.5 % of all forty lives.
    assert more.back.low < 12.5 < more.back.value
    assert not more.is_short


def test_where_fewer_than_half_came_back_there_is_no_median():
    for number in range(12):
        one = tool("Birch Lane")
        agree(a_stay(one, -1, 0), OptionKind.BEARINGS)
        if number < 5:
            a_stay(one, 300 + number, 301 + number)
    (found,) = lasting_of(records())
    assert (found.lives, found.returns, found.median) == (12, 5, None)


def test_kinds_with_fewer_than_five_returns_are_not_told():
    back_after([100, 120, 140, 160])
    assert lasting_of(records()) == ()
