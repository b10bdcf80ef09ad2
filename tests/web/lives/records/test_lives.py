"""Lives, histories, tallies, counts and warranties of small shops, each reckoned by hand."""

import numpy as np
import pytest

from tests.web.lives.records.shop import NOW, a_stay, agree, day, records, settle, tool
from turnwell.errors import InputError
from turnwell.life import NO_CAUSE, Clock
from turnwell.web.jobs.models import Job
from turnwell.web.lives.records.moments import DAY_S, YEAR_DAYS

pytestmark = pytest.mark.django_db
Reason = Job.Reason
TODAY = (NOW - day(0)).total_seconds() / DAY_S


def second(number: float) -> int:
    return int(day(number).timestamp())


def spans(shop_lives) -> list[tuple[float, float, bool]]:
    lives = shop_lives.lives
    return [
        (float(entry), float(exit_), bool(failed))
        for entry, exit_, failed in zip(lives.entry, lives.exit, lives.is_failed, strict=True)
    ]


def test_a_life_after_a_repair_runs_to_the_next_return():
    one = tool()
    entry = a_stay(one, 10, 12)
    back = a_stay(one, 50, 53)
    settle(back, "wear")
    found = records().repair_lives()
    assert found.clock is Clock.DAYS
    assert spans(found) == [(0.0, 38.0, True), (0.0, pytest.approx(TODAY - 53), False)]
    assert found.job.tolist() == [entry.pk, back.pk]
    assert found.end_job.tolist() == [back.pk, -1]
    names = found.lives.cause_names
    assert [names[code] if code >= 0 else "" for code in found.lives.cause] == ["wear", ""]


def test_a_test_alone_ends_no_life_and_its_days_are_none_of_it():
    one = tool()
    a_stay(one, 10, 12)
    a_stay(one, 30, 35, reason=Reason.TEST_ONLY)
    a_stay(one, 50, 53)
    assert spans(records().repair_lives())[0] == (0.0, 18.0 + 15.0, True)


def test_a_planned_service_censors_a_life_and_begins_another():
    one = tool()
    a_stay(one, 10, 12)
    planned = a_stay(one, 30, 31, reason=Reason.PLANNED)
    found = records().repair_lives()
    assert spans(found) == [(0.0, 18.0, False), (0.0, pytest.approx(TODAY - 31), False)]
    assert found.end_job.tolist() == [planned.pk, -1]


def test_handed_back_unrepaired_begins_no_life():
    one = tool()
    a_stay(one, 10, 12)
    a_stay(one, 50, 53, unrepaired=True)
    a_stay(one, 100, 101)
    found = records().repair_lives()
    assert spans(found) == [(0.0, 38.0, True), (0.0, pytest.approx(TODAY - 101), False)]


def test_retirement_censors_a_life():
    a_stay(tool(retired_on=day(80).date()), 10, 12)
    assert spans(records().repair_lives()) == [(0.0, 68.5, False)]


def test_lives_of_one_kind_of_repair():
    one = tool()
    first = a_stay(one, 10, 12)
    agree(first, "bearings")
    agree(a_stay(one, 50, 53), "cartridge")
    shop = records()
    assert spans(shop.repair_lives(kind="bearings")) == [(0.0, 38.0, True)]
    assert shop.repair_lives(kind="replace").lives is None
    with pytest.raises(InputError, match="no kind of repair"):
        shop.repair_lives(kind="miracle")


def test_lives_of_one_class_and_of_one_office():
    a_stay(tool(), 10, 12)
    a_stay(tool("Other", class_key="contra_angle"), 20, 22)
    shop = records()
    assert shop.repair_lives(class_key="contra_angle").count == 1
    other = int(shop.handpieces.office[1])
    assert shop.repair_lives(office=other).handpiece.tolist() == [shop.handpieces.pk[1]]
    assert shop.repair_lives(class_key="coupler").lives is None


def test_a_life_from_new_is_entered_where_observation_began():
    one = tool(in_service_since=day(0).date(), known_cycles=10, known_cycles_on=day(20).date())
    back = a_stay(one, 50, 53)
    found = records().first_lives()
    # Cycles are known when new and at the count: half a cycle a day from the first midnight on.
    assert found.clock is Clock.CYCLES
    [(entry, exit_, failed)] = spans(found)
    assert entry == pytest.approx(10.0)
    assert exit_ == pytest.approx(10.0 * 50.5 / 21.0)
    assert failed
    assert found.end_job.tolist() == [back.pk]


def test_an_unknown_age_is_never_age_nought():
    one = tool(known_cycles=10, known_cycles_on=day(20).date())
    a_stay(one, 50, 53)
    found = records().first_lives()
    assert found.lives is None
    assert found.of_unknown_age.tolist() == [one.pk]


def test_what_had_failed_before_it_was_observed_has_no_first_life():
    one = tool(in_service_since=day(0).date())
    a_stay(one, 10, 12)
    found = records().first_lives()
    assert found.lives is None
    assert found.seen_too_late.tolist() == [one.pk]


def test_a_test_before_any_fault_lets_the_first_life_be_seen():
    one = tool(in_service_since=day(0).date())
    a_stay(one, 10, 12, reason=Reason.TEST_ONLY)
    a_stay(one, 50, 53)
    found = records().first_lives()
    assert found.clock is Clock.DAYS
    assert spans(found) == [(12.5, 12.5 + 38.0, True)]


def test_ages_are_cycles_where_nine_in_ten_lives_are_counted_at_both_ends():
    for number in range(9):
        one = tool(in_service_since=day(0).date())
        a_stay(one, 100, 104, cycles=400 + number)
        a_stay(one, 200, 201, cycles=800 + number)
    a_stay(tool(), 100, 104)
    found = records().repair_lives()
    assert found.clock is Clock.CYCLES
    assert found.lives.exit[0] == pytest.approx(400.0)
    assert found.uncounted.size == 1
    a_stay(tool(), 100, 104)
    a_stay(tool(), 100, 104)
    found = records().repair_lives()
    assert found.clock is Clock.DAYS
    assert (found.uncounted.size, found.count) == (0, 21)


def test_between_two_counts_cycles_grow_evenly_and_after_the_last_at_its_own_pace():
    one = tool(in_service_since=day(0).date())
    a_stay(one, 99.5, 110, cycles=200)
    a_stay(one, 210, 215, cycles=600)
    counts = records().counts
    asked = [second(-0.5 + 50), second(105), second(160), second(315)]
    first = np.zeros(4, dtype=np.intp)
    # 600 cycles from the first midnight to the last hand-back, 215.5 days later, is its own pace.
    assert counts.at(first, np.array(asked)).tolist() == pytest.approx(
        [100.0, 200.0, 400.0, 600.0 + 100.0 * 600.0 / 215.5]
    )
    assert np.isnan(counts.at(first[:1], np.array([second(-10)]))).all()


def test_a_count_below_an_earlier_one_is_believed_nowhere():
    one = tool(in_service_since=day(0).date())
    a_stay(one, 100, 104, cycles=500)
    a_stay(one, 200, 201, cycles=300)
    shop = records()
    assert shop.counts.contradicted.tolist() == [0]
    assert shop.repair_lives().clock is Clock.DAYS
    assert shop.pace(handpiece=one.pk) is None


def test_the_pace_of_a_shop_is_all_cycles_over_all_days():
    made = []
    for cycles in (100, 200, 300):
        made.append(tool(in_service_since=day(0).date()))
        a_stay(made[-1], 99.5, 99.5, cycles=cycles)
    shop = records()
    pace = shop.pace()
    assert pace.cycles_per_day == pytest.approx(2.0)
    assert pace.handpieces == 3
    # Paces of 1, 2 and 3 over equal days: standard error 1/sqrt(3), Student's t for 2 is 4.303.
    assert pace.interval.high == pytest.approx(2.0 + 4.302653 / 3**0.5, rel=1e-6)
    assert pace.interval.low == 0.0
    assert shop.pace(handpiece=made[0].pk).cycles_per_day == pytest.approx(1.0)
    assert shop.pace(class_key="coupler") is None
    with pytest.raises(InputError, match="not in the book"):
        shop.pace(handpiece=10**6)


def test_tallies_hold_exact_times_and_returns_by_office_class_and_handpiece():
    one, other = tool("First"), tool("Second", class_key="contra_angle")
    for handpiece in (one, other):
        a_stay(handpiece, 10, 12)
        a_stay(handpiece, 50, 53)
    shop = records()
    tallies = shop.tallies(second(30), second(60))
    assert tallies.years * YEAR_DAYS == pytest.approx(np.diag([27.0, 27.0]))
    assert tallies.returns.tolist() == [[1, 0], [0, 1]]
    assert tallies.handpiece.tolist() == [one.pk, other.pk]
    assert tallies.handpiece_years * YEAR_DAYS == pytest.approx([27.0, 27.0])
    assert tallies.handpiece_returns.tolist() == [1, 1]
    assert tallies.expected(np.array([1.0, 2.0])) * YEAR_DAYS == pytest.approx([27.0, 54.0])
    each = shop.tallies(np.array([second(30), second(52)]), np.array([second(40), second(60)]))
    assert each.years.sum(axis=1) * YEAR_DAYS == pytest.approx([10.0, 7.0])
    assert each.returns.tolist() == [[0, 0], [0, 0]]
    years = shop.exposure_years(class_key="contra_angle", from_s=second(30), to_s=second(60))
    assert years * YEAR_DAYS == pytest.approx(27.0)


def test_a_return_counts_after_the_first_moment_and_up_to_the_second():
    one = tool()
    a_stay(one, 10, 12)
    a_stay(one, 50, 53)
    shop = records()
    assert shop.tallies(second(12), second(50)).returns.sum() == 1
    assert shop.tallies(second(50), second(90)).returns.sum() == 0


def test_histories_watch_a_handpiece_through_its_days_at_the_bench():
    one = tool()
    a_stay(one, 10, 12)
    back = a_stay(one, 50, 53)
    shop = records()
    found = shop.calendar_histories(since_s=second(0), until_s=second(100))
    assert found.histories.count == 1
    assert found.histories.start.tolist() == [12.0]
    assert found.histories.stop.tolist() == [100.0]
    assert found.histories.at.tolist() == [50.0]
    assert found.job.tolist() == [back.pk]
    assert found.handpiece.tolist() == [one.pk]
    late = shop.calendar_histories(since_s=second(50), until_s=second(100))
    assert late.histories.returns == 0
    assert shop.calendar_histories(since_s=second(0), until_s=second(11)).histories is None


def test_a_hand_back_unrepaired_ends_a_history_and_the_next_repair_begins_another():
    one = tool()
    a_stay(one, 10, 12)
    a_stay(one, 50, 53, unrepaired=True)
    a_stay(one, 80, 82)
    found = records().calendar_histories(since_s=second(0), until_s=second(100))
    assert found.histories.start.tolist() == [12.0, 82.0]
    assert found.histories.stop.tolist() == [50.0, 100.0]
    assert found.handpiece.tolist() == [one.pk, one.pk]


def test_histories_may_count_costs_in_one_currency():
    one, other = tool(), tool()
    for handpiece, currency in ((one, "EUR"), (other, "USD")):
        a_stay(handpiece, 10, 12)
        agree(a_stay(handpiece, 50, 53), price=120, currency=currency)
        agree(a_stay(handpiece, 60, 61), price=80, currency="EUR")
    a_stay(one, 70, 71)
    found = records().calendar_histories(since_s=second(0), until_s=second(100), cost=True)
    assert found.currency == "EUR"
    assert sorted(found.histories.weight.tolist()) == [0.0, 0.0, 80.0, 80.0, 120.0]
    assert found.uncosted == 2


def test_a_return_handed_back_unrepaired_costs_nothing():
    one = tool()
    a_stay(one, 10, 12)
    agree(a_stay(one, 50, 53, unrepaired=True))
    assert np.isnan(records().returns.cost).all()


def test_a_return_has_its_settled_cause():
    one = tool()
    a_stay(one, 10, 12)
    settle(a_stay(one, 50, 53), "moisture_corrosion")
    a_stay(one, 90, 92)
    shop = records()
    assert shop.returns.cause.tolist() == [shop.cause_keys.index("moisture_corrosion"), NO_CAUSE]


def test_under_warranty_is_what_is_at_work_and_its_warranty_still_runs():
    ages = {"runs": 700, "over": 300}
    made = {name: tool(serial=name) for name in ages}
    for name, begin in ages.items():
        agree(a_stay(made[name], begin, begin + 1), "bearings", warranty_months=6, price=90)
    at_bench = tool()
    agree(a_stay(at_bench, 700, 701), warranty_months=6)
    a_stay(at_bench, 720, None)
    found = records().under_warranty()
    assert found.handpiece.tolist() == [made["runs"].pk]
    assert found.price.tolist() == [90.0]
    assert found.age_days.tolist() == pytest.approx([TODAY - 701])
    # Noon of 2 December 2025 and six calendar months.
    assert day(701).isoformat().startswith("2025-12-02")
    assert found.left_days.tolist() == pytest.approx([182.0 - 30.0])


def test_a_warranty_runs_on_through_a_later_repair_and_the_age_begins_anew():
    one = tool()
    covered = a_stay(one, 690, 691)
    agree(covered, "bearings", warranty_months=12)
    again = a_stay(one, 710, 711)
    found = records().under_warranty()
    assert found.job.tolist() == [covered.pk]
    assert found.repair_job.tolist() == [again.pk]
    assert found.age_days.tolist() == pytest.approx([TODAY - 711])


def test_a_warranty_given_on_the_last_of_a_month_ends_on_the_last_of_a_shorter_one():
    agree(a_stay(tool(), 729, 730), "bearings", warranty_months=2)
    assert day(730).isoformat().startswith("2025-12-31")
    # To 28 February, 58 days from noon of the first of January.
    assert records().under_warranty().left_days.tolist() == pytest.approx([58.0])
