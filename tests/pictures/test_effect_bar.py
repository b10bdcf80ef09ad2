"""What an action is expected to bring: values, the bar, and where it cannot be told."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from turnwell.errors import InputError
from turnwell.pictures import ActionShown, Estimated
from turnwell.pictures.estimated import decimals_of

NUMBERS = st.floats(0.0, 1e6, allow_nan=False)


@given(st.tuples(NUMBERS, NUMBERS, NUMBERS).map(sorted), NUMBERS)
def test_figures_never_leave_their_order(three: list[float], factor: float):
    low, value, high = three
    made = Estimated(value, low, high).times(factor + 0.5)
    shown = [float(text.replace(",", "")) for text in (*made.ends(), made.says())]
    assert shown[0] <= shown[2] <= shown[1]


def test_figures_of_one_column_share_their_decimals():
    assert decimals_of([Estimated(0.31, 0.14, 0.48), Estimated(3.0, 1.0, 6.0)]) == 2
    assert decimals_of([]) == 2
    assert decimals_of([Estimated(1.0, 1.0, 1.0)]) == 2


@pytest.mark.parametrize("ends", [(0.2, 0.3, 0.4), (0.3, 0.1, 0.2), (0.3, 0.1, float("inf"))])
def test_ends_that_hold_no_value_are_refused(ends: tuple[float, float, float]):
    with pytest.raises(InputError, match="must be finite and rise"):
        Estimated(*ends)


def test_an_action_says_what_to_do_and_why_its_effect_cannot_be_told():
    with pytest.raises(InputError, match="what to do"):
        ActionShown("", fewer=Estimated(1.0, 0.5, 2.0))
    with pytest.raises(InputError, match="cannot be told"):
        ActionShown("Lubricate before every cycle.")
    with pytest.raises(InputError, match="below 0"):
        ActionShown("Lubricate before every cycle.", fewer=Estimated(1.0, -0.5, 2.0))
