"""The agreement plot: where things are drawn, and what it says in words."""

import re
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from turnwell.errors import InputError
from turnwell.pictures import paper
from turnwell.pictures.agreement_plot import (
    AgreementDot,
    AgreementShown,
    agreement_plot,
    agreement_plot_in_words,
    signed,
)

SHOWN = AgreementShown(
    dots=(
        AgreementDot(350_000.0, 0.004),
        AgreementDot(380_000.0, -0.006),
        AgreementDot(410_000.0, 0.012, is_outlier=True),
    ),
    bias=(-0.004, 0.002, 0.008),
    lower=(-0.030, -0.016, -0.011),
    upper=(0.015, 0.020, 0.034),
)


def lines(svg: str, classes: str) -> list[float]:
    found = re.findall(rf'<line class="{classes}" x1="0%" x2="[\d.]+%" y1="([\d.]+)"', svg)
    return [float(y) for y in found]


def test_the_lines_stand_in_order_and_to_scale():
    svg = agreement_plot(SHOWN)
    lower, upper = lines(svg, "soft-line dash")
    (bias,) = lines(svg, "ink-firm")
    zero, _ = lines(svg, "axis")
    assert upper < bias < zero < lower
    # 0.018 % above the bias, and as far below: the same distance on paper.
    assert bias - upper == pytest.approx(lower - bias, abs=0.02)
    assert (zero - bias) / (bias - upper) == pytest.approx(0.002 / 0.018, rel=0.01)


def test_each_pair_is_a_dot_and_an_outlier_a_diamond():
    svg = agreement_plot(SHOWN)
    assert svg.count("<circle") == 2
    assert svg.count("v-unproven") == 1


def test_the_words_say_the_same():
    words = agreement_plot_in_words(SHOWN)
    assert "3 pairs" in words
    assert "bias +0.0020 % (−0.0040 to +0.0080)" in words
    assert "−0.0160 to +0.0200 %" in words
    assert "do not fit in with the others: 1." in words
    assert f'aria-label="{words}"' in agreement_plot(SHOWN).replace("&#x27;", "'")


@given(st.lists(st.tuples(st.floats(1e3, 6e5), st.floats(-50.0, 50.0)), min_size=2, max_size=40))
def test_everything_lies_on_the_picture(places: list[tuple[float, float]]):
    differences = [difference for _, difference in places]
    low, high = min(differences) - 1.0, max(differences) + 1.0
    middle = (low + high) / 2.0
    shown = AgreementShown(
        dots=tuple(AgreementDot(*place) for place in places),
        bias=(middle - 0.1, middle, middle + 0.1),
        lower=(low - 1.0, low, low + 0.2),
        upper=(high - 0.2, high, high + 1.0),
    )
    root = ElementTree.fromstring(agreement_plot(shown))  # noqa: S314  # our own
    height = float(root.get("height", "0"))
    for place in root.iter("svg"):
        if place is not root:
            assert 0.0 <= float(place.get("x", "").rstrip("%")) <= 100.0
            assert 0.0 <= float(place.get("y", "")) <= height


def test_pairs_at_one_speed_stand_in_the_middle():
    alike = AgreementShown(
        dots=(AgreementDot(4e5, 0.01), AgreementDot(4e5, -0.01)),
        bias=SHOWN.bias,
        lower=SHOWN.lower,
        upper=SHOWN.upper,
    )
    places = [float(x) for x in re.findall(r'<svg x="([\d.]+)%"', agreement_plot(alike))]
    (right,) = {float(x) for x in re.findall(r'x2="([\d.]+)%"', agreement_plot(alike))} - {
        places[0]
    }
    assert places == pytest.approx([right / 2.0] * 2, abs=0.01)


def test_labels_never_touch():
    narrow = AgreementShown(
        dots=(AgreementDot(3e5, 9.0), AgreementDot(4e5, -9.0)),
        bias=(-0.001, 0.0, 0.001),
        lower=(-0.003, -0.002, -0.001),
        upper=(0.001, 0.002, 0.003),
    )
    label = r'<text class="[^"]* narrow" x="[\d.]+%" y="([\d.]+)"'
    upper, bias, lower = map(float, re.findall(label, agreement_plot(narrow)))
    assert bias - upper >= 18.0
    assert lower - bias >= 18.0


def test_on_paper_it_brings_its_colours():
    svg = agreement_plot(SHOWN, ground=paper(300.0, "Face"))
    assert "class=" not in svg
    ElementTree.fromstring(svg)  # noqa: S314  # our own


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [(-0.012, 3, "−0.012"), (0.5, 1, "+0.5"), (0.0001, 2, "0.00"), (-0.0, 1, "0.0")],
)
def test_a_sign_is_written_unless_there_is_nothing(value: float, digits: int, text: str):
    assert signed(value, digits) == text


def test_one_pair_is_no_picture():
    with pytest.raises(InputError, match="give two"):
        AgreementShown(SHOWN.dots[:1], SHOWN.bias, SHOWN.lower, SHOWN.upper)
