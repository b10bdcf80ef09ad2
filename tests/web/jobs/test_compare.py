"""Before and after: what may be compared, and the change with its interval."""

import pytest

from tests.people import theo_the_technician
from tests.web.jobs.builders import a_blank_test, a_job, bring_to, measure_speed
from turnwell.measure import reading
from turnwell.web.jobs import actions
from turnwell.web.jobs.analysis.compare import Comparison, Pair, comparison
from turnwell.web.jobs.models import Job, Stage, Test
from turnwell.web.jobs.tests_on_file import standing_tests

pytestmark = pytest.mark.django_db


def compared(job: Job) -> Comparison:
    before, after = standing_tests(job)
    return comparison(before, after)


def test_a_change_has_the_root_of_the_squares_of_both_intervals() -> None:
    # Two means of three values, s = 1,000 rpm each: u = 1,000 / sqrt(3), t(2; 95 %) = 4.303
    # ([JCGM100] table G.2, from memory), so each half is 2,484; together 2,484 x sqrt(2) = 3,513.
    job = bring_to(a_job(), Stage.REBUILT)
    measure_speed(a_blank_test(job, Test.When.FINAL), 400_000.0, 401_000.0, 402_000.0)
    [pair] = compared(job).pairs

    assert pair.change.value == pytest.approx(401_000.0 - 341_000.0)
    assert pair.change.high - pair.change.value == pytest.approx(3_513.0, abs=1.0)
    assert pair.change.limit is None
    assert pair.is_proven
    assert pair.change.why.key == "jobs.difference_proven"


def test_a_change_within_its_interval_is_not_proven() -> None:
    job = bring_to(a_job(), Stage.REBUILT)
    measure_speed(a_blank_test(job, Test.When.FINAL), 341_500.0, 342_000.0, 342_500.0)
    [pair] = compared(job).pairs

    assert not pair.is_proven
    assert pair.change.why.key == "jobs.difference_open"


def test_another_set_up_cannot_be_compared_and_says_in_what() -> None:
    job = bring_to(a_job(), Stage.REBUILT)
    measure_speed(a_blank_test(job, Test.When.FINAL, mounted=Test.Mounted.BUR))
    result = compared(job)
    [pair] = result.pairs

    assert result.differences == ("in the chuck: test blank before, bur after",)
    assert pair.change.value is None
    assert pair.change.verdict.value == "cannot tell"
    assert pair.change.why.params["what"] == result.differences[0]
    assert pair.before.value is not None


def test_what_was_measured_once_only_cannot_be_compared() -> None:
    job = bring_to(a_job(), Stage.REBUILT)
    actions.add_measurement(
        by=theo_the_technician(),
        test=a_blank_test(job, Test.When.FINAL),
        reading_key="run_out",
        values=[0.01, 0.02],
        unit="mm",
    )
    pairs = compared(job).pairs

    assert [pair.change.why.key for pair in pairs] == ["jobs.one_side_missing"] * 2


def test_one_value_without_a_gauge_cannot_be_compared() -> None:
    job = bring_to(a_job(), Stage.REBUILT)
    measure_speed(a_blank_test(job, Test.When.FINAL), 400_000.0)
    [pair] = compared(job).pairs

    assert pair.change.why.key == "jobs.one_side_untold"


def test_details_stand_behind_the_changes_to_act_on() -> None:
    def pair(key: str, low: float) -> Pair:
        after = reading(key, 2.0, 1.9, 2.1, "s")
        return Pair(after, after, reading(f"{key}_change", 0.5, low, 1.0, "s"))

    acted = pair("coast_down_time", 0.1)
    detail = pair("coast_down_deceleration_50", 0.1)
    unproven = pair("speed_wander", -0.1)
    both = Comparison(None, None, (), (detail, acted, unproven))
    assert both.first == (acted,)
    assert both.further == (detail, unproven)
