"""Lives, histories and estimates hold what the methods rely on, and refuse the rest."""

import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from turnwell.errors import InputError
from turnwell.life import NO_CAUSE, Clock, Estimate, Histories, Lives
from turnwell.measure import Basis, Limit, Verdict


def test_a_life_still_running_has_no_upper_end():
    lives = Lives.observed([4.0, 9.0], [True, False])
    assert lives.high.tolist() == [4.0, np.inf]
    assert lives.is_failed.tolist() == [True, False]
    assert lives.exit.tolist() == [4.0, 9.0]
    assert lives.is_exact
    assert lives.cause.tolist() == [NO_CAUSE, NO_CAUSE]


def test_a_failure_between_two_looks_is_not_exact():
    lives = Lives.between([0.0, 6.12, 63.48], [6.12, 19.92, np.inf])
    assert not lives.is_exact
    assert lives.failures == 2
    assert lives.exit.tolist() == [6.12, 19.92, 63.48]


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (([], []), "no life"),
        (([1.0, -1.0], [1, 1]), "exit of row 2 is -1"),
        (([1.0, np.nan], [1, 1]), "exit of row 2 is nan"),
        (([1.0], [2]), "true and false"),
        (([1.0], [1, 0]), "failed has shape"),
        (([0.0], [1]), "ends at 0, not after its entry"),
    ],
)
def test_lives_that_cannot_be_are_refused(arguments, says):
    with pytest.raises(InputError, match=says):
        Lives.observed(*arguments)


def test_an_end_before_its_entry_is_refused_with_its_row():
    with pytest.raises(InputError, match="life 2 ends at 3, not after its entry at 5"):
        Lives.observed([4.0, 3.0], [1, 1], entry=[0.0, 5.0])


def test_an_unnamed_cause_is_refused():
    with pytest.raises(InputError, match="a cause is number 1, but 1 causes are named"):
        Lives.observed([1.0, 2.0], [1, 1], cause=[0, 1], cause_names=("worn",))


def test_looks_that_run_backward_are_refused():
    with pytest.raises(InputError, match="exchange the two"):
        Lives.between([2.0], [1.0])


def test_chosen_lives_keep_their_fields_together():
    lives = Lives.observed(
        [4, 6, 7], [1, 0, 1], entry=[0, 1, 2], office=[0, 1, 1], clock=Clock.CYCLES
    )
    some = lives.chosen(lives.office == 1)
    assert (some.count, some.failures, some.offices) == (2, 1, 1)
    assert some.entry.tolist() == [1.0, 2.0]
    assert some.clock is Clock.CYCLES
    with pytest.raises(InputError, match="no life is left"):
        lives.chosen(lives.office == 2)


@given(
    st.lists(
        st.tuples(st.floats(0.1, 50.0), st.lists(st.floats(0.01, 1.0), max_size=4)),
        min_size=1,
        max_size=8,
    )
)
def test_returns_are_kept_in_order_with_their_units(rows):
    stop = [length for length, _ in rows]
    unit = [i for i, (_, shares) in enumerate(rows) for _ in shares]
    at = [length * share for length, shares in rows for share in shares]
    histories = Histories.of(stop, unit, at)
    assert np.all(np.diff(histories.at) >= 0)
    assert sorted(zip(unit, at, strict=True)) == sorted(
        zip(histories.unit.tolist(), histories.at.tolist(), strict=True)
    )


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (([], [], []), "no history"),
        (([5.0], [0], [6.0]), "came back at 6, outside its watch from 0 to 5"),
        (([5.0], [1], [2.0]), "names unit 2 of 1"),
        (([5.0], [0, 0], [2.0]), "unit has 2 values"),
    ],
)
def test_histories_that_cannot_be_are_refused(arguments, says):
    with pytest.raises(InputError, match=says):
        Histories.of(*arguments)


def test_a_return_at_the_very_start_is_not_of_the_watch():
    with pytest.raises(InputError, match="outside its watch"):
        Histories.of([5.0], [0], [2.0], start=[2.0])


def test_chosen_histories_name_their_units_anew():
    histories = Histories.of([5.0, 6.0, 7.0], [0, 2, 2], [1.0, 3.0, 2.0], office=[0, 0, 4])
    some = histories.chosen([False, True, True])
    assert (some.count, some.returns, some.watched) == (2, 2, 13.0)
    assert some.unit.tolist() == [1, 1]


def test_an_estimate_holds_its_value():
    with pytest.raises(InputError, match="does not lie in its interval"):
        Estimate(3.0, 1.0, 2.0)


def test_an_estimate_is_held_against_its_limit():
    most = Limit(low=None, high=1.0, source="agreed", basis=Basis.OWN)
    assert Estimate(0.4, 0.1, 0.9).reading("median_life", "days", limit=most).verdict is (
        Verdict.WITHIN
    )


def test_an_open_end_is_told_and_not_drawn():
    reading = Estimate(3.0, 1.0, np.inf).reading("median_life", "days")
    assert reading.value is None
    assert reading.verdict is Verdict.CANNOT_TELL
    assert Estimate(3.0, 1.0, np.inf).as_dict()["high"] is None


def test_the_core_starts_without_the_heavy_packages():
    code = (
        "import sys, turnwell.life; "
        "print([m for m in ('scipy.stats', 'scipy.optimize', 'scipy.special', 'pandas', 'django')"
        " if m in sys.modules])"
    )
    found = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert found.stdout.strip() == "[]"
