"""The funnel picture: what its values refuse, where offices stand, whose names have room."""

import math
import re
import xml.etree.ElementTree as ET
from itertools import combinations
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.pictures.reading_back import parsed
from turnwell.errors import InputError
from turnwell.pictures import (
    Beyond,
    FunnelLimits,
    FunnelOffice,
    FunnelPicture,
    funnel_picture,
    funnel_picture_caption,
    funnel_picture_in_words,
    palette,
    paper,
)
from turnwell.pictures.dot_names import Dot, dot_names
from turnwell.pictures.gutters import NARROW, WIDE, Layout

# Shaped as chance shapes them: the spread falls with the square root of the count.
COUNTS = np.geomspace(0.3, 120.0, 40)
SPREAD = 1.0 / np.sqrt(COUNTS)
WIDE_LIMITS = FunnelLimits.of(
    COUNTS,
    np.maximum(1.0 - 1.96 * SPREAD, 0.0),
    1.0 + 1.96 * SPREAD,
    np.maximum(1.0 - 3.09 * SPREAD, 0.0),
    1.0 + 3.09 * SPREAD,
)
LIMITS = FunnelLimits.of([1, 10], [0.2, 0.5], [2.5, 1.6], [0.1, 0.3], [3.5, 2.1])


def test_the_ratio_is_observed_over_expected():
    assert FunnelOffice("Fernmark", 18, 7.2).ratio == pytest.approx(2.5)


def test_an_office_without_an_expected_return_has_no_place():
    with pytest.raises(InputError, match="no place"):
        FunnelOffice("Fernmark", 1, 0.0)
    with pytest.raises(InputError, match="cannot be"):
        FunnelOffice("Fernmark", -1, 1.0)


@pytest.mark.parametrize(
    ("rows", "says"),
    [
        (([1], [0.2], [2.5], [0.1], [3.5]), "two values"),
        (([1, 2], [0.2], [2.5], [0.1], [3.5]), "one length"),
        (([0, 2], [0.2, 0.2], [2, 2], [0.1, 0.1], [3, 3]), "rise from above 0"),
        (([2, 1], [0.2, 0.2], [2, 2], [0.1, 0.1], [3, 3]), "rise from above 0"),
        (([1, 2], [0.2, 0.2], [2, 2], [0.3, 0.1], [3, 3]), "within those"),
        (([1, 2], [0.2, 0.2], [2, 2], [0.1, 0.1], [3, float("inf")]), "not a finite"),
    ],
)
def test_limits_that_make_no_funnel_are_refused(rows: tuple[list[float], ...], says: str):
    with pytest.raises(InputError, match=says):
        FunnelLimits.of(*rows)


def test_a_funnel_needs_an_office_and_a_target():
    with pytest.raises(InputError, match="one office"):
        FunnelPicture((), LIMITS)
    with pytest.raises(InputError, match="target"):
        FunnelPicture((FunnelOffice("Fernmark", 1, 2.0),), LIMITS, target=0.0)


def funnel(*offices: FunnelOffice, **fields: Any) -> FunnelPicture:
    return FunnelPicture(offices or (FunnelOffice("Fernmark", 3, 2.2),), WIDE_LIMITS, **fields)


def shapes(picture: FunnelPicture, tag: str) -> list[ET.Element]:
    return [one for one in parsed(funnel_picture(picture)).iter() if one.tag.endswith(tag)]


def test_an_office_stands_at_the_square_root_of_its_count_and_at_its_ratio():
    picture = funnel(FunnelOffice("A", 4, 4.0), FunnelOffice("B", 8, 16.0))
    first, second = shapes(picture, "circle")
    across = [float(one.attrib["cx"].rstrip("%")) for one in (first, second)]
    assert across[1] == pytest.approx(100.0 / math.sqrt(1.08), abs=0.01)
    assert across[0] == pytest.approx(across[1] / 2.0, abs=0.01)
    down = [float(one.attrib["cy"]) for one in (first, second)]
    # Twice the ratio is twice as high over the axis.
    assert 326.0 - down[0] == pytest.approx(2.0 * (326.0 - down[1]), abs=0.02)


def test_those_beyond_a_limit_look_different_are_named_and_lie_on_top():
    picture = funnel(
        FunnelOffice("Mill Row", 30, 12.0, Beyond.OF_998),
        FunnelOffice("Ashgrove", 11, 10.0),
        FunnelOffice("North Quay", 16, 9.0, Beyond.OF_95),
    )
    looks = [one.get("class") for one in shapes(picture, "circle")]
    assert looks == ["ball--stay", "ball", "fill-brass"]
    texts = {one.text for one in shapes(picture, "text")}
    assert {"Mill Row", "North Quay"} <= texts
    assert "Ashgrove" not in texts


def test_no_verdict_colour_is_used():
    picture = funnel(FunnelOffice("Mill Row", 30, 12.0, Beyond.OF_998))
    drawn = funnel_picture(picture) + funnel_picture(picture, ground=paper(500.0, "Face"))
    for colour in ("v-within", "v-outside", "v-unproven", palette.WITHIN, palette.OUTSIDE):
        assert colour not in drawn


def test_limits_stay_in_the_plot_and_close_like_a_funnel():
    picture = funnel(FunnelOffice("A", 40, 40.0), widened=WIDE_LIMITS)
    for one in shapes(picture, "path"):
        if "curve" in one.get("class", ""):
            heights = [float(y) for y in re.findall(r"[ML][\d.]+ ([\d.]+)", one.attrib["d"])]
            assert all(26.0 - 0.05 <= y <= 326.05 for y in heights)
            assert heights.count(26.0) <= 1, "it runs along the upper edge"
    uppers = [one for one in shapes(picture, "path") if one.get("class") == "curve curve--limit"]
    assert len(uppers) == 4


def test_chance_alone_is_dotted_only_where_the_limits_are_widened():
    def looks(picture: FunnelPicture) -> list[str]:
        return [one.get("class", "") for one in shapes(picture, "path")]

    even = FunnelOffice("A", 40, 40.0)
    assert "curve curve--set" not in looks(funnel(even))
    assert looks(funnel(even, widened=WIDE_LIMITS)).count("curve curve--set") == 4
    assert "only chance" in funnel_picture_caption(funnel(widened=WIDE_LIMITS))
    assert "only by chance" in funnel_picture_caption(funnel())


def test_an_office_above_the_picture_is_marked_at_its_edge():
    picture = funnel(FunnelOffice("A", 60, 2.0), FunnelOffice("B", 10, 10.0))
    assert len(shapes(picture, "circle")) == 1
    assert any("6 5H-6Z" in one.attrib["d"] for one in shapes(picture, "path"))
    assert "Triangle at the upper edge" in funnel_picture_caption(picture)
    assert "Triangle" not in funnel_picture_caption(funnel())


@given(
    st.lists(
        st.tuples(
            st.floats(0.0, 1.0),
            st.floats(26.0, 320.0),
            st.integers(3, 24),
        ),
        min_size=1,
        max_size=14,
    ),
    st.sampled_from([NARROW, WIDE]),
    st.floats(0.0, 1.0),
)
def test_names_never_lie_on_one_another_at_any_width(
    places: list[tuple[float, float, int]], layout: Layout, wider: float
):
    dots = [Dot(part, y, "x" * length) for part, y, length in places]
    px = layout.least_px + wider * (layout.most_px - layout.least_px)
    boxes = []
    for name in dot_names(dots, layout, bottom=326.0):
        wide = layout.width(name.dot.name)
        start = name.dot.part * px + name.shift
        start -= {"": 0.0, "end": wide, "mid": wide / 2.0}[name.anchor]
        boxes.append((start, start + wide, name.base - 12.0, name.base + 3.0))
        assert boxes[-1][1] <= px + 1e-6, "it runs over the names of the limits"
        assert boxes[-1][0] >= -1e-6, "it runs over the figures of the axis"
    for one, other in combinations(boxes, 2):
        apart_across = one[1] <= other[0] + 1e-6 or other[1] <= one[0] + 1e-6
        apart_down = one[3] <= other[2] + 1e-6 or other[3] <= one[2] + 1e-6
        assert apart_across or apart_down


def test_a_name_that_would_cover_a_dot_on_a_wider_page_stands_elsewhere():
    # Right of the first dot there is room on the narrowest page alone: wider, the second comes in.
    near = [Dot(0.49, 100.0, "Mill"), Dot(0.5, 100.0, "Ashgrove")]
    sides = {name.dot.name: name.side for name in dot_names(near, NARROW, bottom=326.0)}
    assert sides["Mill"] == "end"


def test_one_name_always_has_room():
    for part in (0.0, 0.3, 0.99):
        for layout in (NARROW, WIDE):
            assert dot_names([Dot(part, 100.0, "Two Rivers")], layout, bottom=326.0)


@pytest.mark.parametrize("count", [1, 2, 300])
def test_any_number_of_offices_is_drawn(count: int):
    offices = tuple(
        FunnelOffice(f"Office {n}", n % 7, 0.4 + 0.3 * n, list(Beyond)[n % 3]) for n in range(count)
    )
    picture = funnel(*offices)
    drawn = funnel_picture(picture)
    assert len(drawn) < 70_000
    marks = len(shapes(picture, "circle"))
    assert marks + drawn.count("6 5H-6Z") == count


def test_a_long_name_is_cut_in_the_picture_and_whole_in_the_words():
    long = FunnelOffice("Kiefernwald Dental Practice and Partners", 30, 12.0, Beyond.OF_998)
    assert "Kiefernwald Dental Prac…" in {one.text for one in shapes(funnel(long), "text")}
    assert long.name in funnel_picture_in_words(funnel(long))


def test_it_says_in_words_who_lies_beyond_which_limit():
    said = funnel_picture_in_words(
        funnel(
            FunnelOffice("Mill Row", 30, 12.0, Beyond.OF_998),
            FunnelOffice("Ashgrove", 11, 10.0),
            FunnelOffice("North Quay", 2, 9.0, Beyond.OF_95),
        )
    )
    assert "offices 3" in said
    assert "More than expected, beyond the 99.8 % limit: Mill Row (30 for 12.0 expected)." in said
    assert "Fewer than expected, beyond the 95 % limit: North Quay (2 for 9.0 expected)." in said
    assert "Ashgrove" not in said
    assert "No office lies beyond a limit." in funnel_picture_in_words(funnel())
    many = [FunnelOffice(f"O{n}", 30, 12.0, Beyond.OF_998) for n in range(9)]
    assert "and 3 more." in funnel_picture_in_words(funnel(*many))
