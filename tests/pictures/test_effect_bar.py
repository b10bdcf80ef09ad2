"""What an action is expected to bring: values, the bar, and where it cannot be told."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.pictures.reading_back import parsed
from turnwell.errors import InputError
from turnwell.pictures import (
    ActionShown,
    Estimated,
    effect_bar,
    effect_words,
    effects_top,
    paper,
)
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


FEWER = Estimated(2.0, 1.0, 4.0)


def test_bars_of_some_actions_have_one_scale():
    actions = (
        ActionShown("Dry to the end.", fewer=FEWER),
        ActionShown("Lubricate.", fewer=Estimated(1.0, 0.5, 5.0)),
        ActionShown("Lower the air.", why="No return with this cause is settled."),
    )
    assert effects_top(actions) == 5.0
    assert effects_top(actions[2:]) == 1.0
    (bar,) = (one for one in parsed(effect_bar(FEWER, top=5.0)).iter() if one.tag.endswith("rect"))
    assert bar.get("width") == "40%"
    assert bar.get("class") == "fill-brass"


def test_what_cannot_be_told_has_a_dotted_line_and_no_bar():
    svg = parsed(effect_bar(None, top=5.0))
    assert not any(one.tag.endswith("rect") for one in svg.iter())
    assert any(one.get("class") == "axis dash" for one in svg.iter())
    assert effect_words(None).value == "cannot tell"
    assert effect_words(None).between == ""


def test_an_effect_is_written_with_its_interval():
    words = effect_words(Estimated(4.31, 1.92, 6.84))
    assert (words.value, words.between) == ("4.3 fewer a year", "1.9 to 6.8")
    fine = effect_words(Estimated(0.0123, 0.0012, 0.0345))
    assert (fine.value, fine.between) == ("0.01 fewer a year", "0.00 to 0.03")


def test_on_paper_the_bar_says_itself():
    svg = parsed(effect_bar(FEWER, top=4.0, ground=paper(150.0, "Face")))
    assert svg.get("aria-label") == "2.0 fewer a year 1.0 to 4.0"
    assert parsed(effect_bar(FEWER, top=4.0)).get("aria-hidden") == "true"
