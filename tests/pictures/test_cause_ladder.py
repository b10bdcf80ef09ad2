"""The bars of the cause ladder."""

import pytest

from tests.pictures.reading_back import parsed
from turnwell.errors import InputError
from turnwell.pictures import LadderShown, Rung, rung_bar


def a_rung(probability=0.58, low=0.44, high=0.71, key="a"):
    return Rung(key, "Too little lubricant", probability, low, high)


def test_the_bar_ends_at_the_probability_and_the_whisker_at_the_range():
    svg = parsed(rung_bar(a_rung(), leads=True))
    assert next(node for node in svg.iter("rect")).get("width") == "58%"
    ends = {node.get("x1") for node in svg.iter("line") if node.get("class") == "ink-line"}
    assert ends == {"44%", "71%"}


@pytest.mark.parametrize(("leads", "look"), [(True, "fill-brass"), (False, "fill-soft")])
def test_only_a_leading_cause_is_brass(leads, look):
    assert next(parsed(rung_bar(a_rung(), leads=leads)).iter("rect")).get("class") == look


def test_it_says_its_figures():
    says = parsed(rung_bar(a_rung(), leads=True)).get("aria-label")
    assert says == "Probability 0.58, interval 0.44 to 0.71"


def test_likely_causes_come_first_and_two_at_least():
    rungs = (a_rung(0.9, 0.8, 0.95), a_rung(0.02, 0, 0.1), a_rung(0.02, 0, 0.1))
    assert len(LadderShown("x", 1, rungs).first(6)) == 2
    assert len(LadderShown("x", 1, (a_rung(),) * 9).first(6)) == 6


def test_a_probability_outside_its_range_is_refused():
    with pytest.raises(InputError, match="must rise from 0 to 1"):
        a_rung(0.8, 0.1, 0.7)
