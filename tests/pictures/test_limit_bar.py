"""The limit bar, read back from its own SVG."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.pictures.reading_back import parsed
from turnwell.measure import Basis, Limit, cannot_tell, reading
from turnwell.pictures import limit_bar, limit_bar_in_words, paper
from turnwell.pictures.scale import scale_of
from turnwell.words import Message

LABEL = Limit(360_000.0, 440_000.0, "label", Basis.OWN)
AT_MOST = Limit(None, 0.03, "sheet", Basis.MEMORY)


def drawn(*args, **options):
    return parsed(limit_bar(*args, **options))


def speed(value, half=1000.0, limit=LABEL):
    return reading("free_running_speed", value, value - half, value + half, "rpm", limit=limit)


def run_out(value, half=0.005, limit=AT_MOST):
    return reading("run_out", value, value - half, value + half, "mm", limit=limit)


def classes(svg):
    return [name for node in svg.iter() for name in node.get("class", "").split()]


@pytest.mark.parametrize(
    ("value", "shape", "tag"),
    [
        (400_000.0, "v-within", "circle"),
        (330_000.0, "v-outside", "rect"),
        (360_500.0, "v-unproven", "path"),
    ],
)
def test_the_mark_has_the_shape_of_the_verdict(value, shape, tag):
    svg = drawn(speed(value))
    assert [node.tag for node in svg.iter() if shape in node.get("class", "")] == [tag]


def test_the_value_lies_to_scale_between_the_limits():
    svg = drawn(speed(400_000.0))
    ticks = [
        float(node.get("x1")[:-1])
        for node in svg.iter("line")
        if node.get("class") == "ink-firm" and node.get("y1") == "0"
    ]
    mark = next(float(node.get("x")[:-1]) for node in svg.iter("svg") if node.get("x"))
    assert mark == pytest.approx(sum(ticks) / 2, abs=0.01)


def test_a_forbidden_zone_is_hatched_on_each_side():
    hatched = [node for node in drawn(speed(400_000.0)).iter() if node.get("fill") == "url(#hatch)"]
    assert len(hatched) == 2


@pytest.mark.parametrize("value", [1.0, -1.0])
def test_a_value_off_the_scale_ends_in_an_arrow_at_the_edge(value):
    svg = drawn(run_out(value))
    edge = "100%" if value > 0 else "0%"
    at_edge = [node for node in svg.iter("svg") if node.get("x") == edge]
    assert len(at_edge) == 3  # both ends of the interval, and the mark
    arrows = [node.find("path") for node in at_edge if node.find("path") is not None]
    assert [arrow.get("transform") for arrow in arrows] == [
        None if value > 0 else "scale(-1 1)"
    ] * 2


def test_an_interval_wider_than_the_scale_runs_to_both_edges():
    svg = drawn(speed(400_000.0, half=399_000.0))
    whisker = next(node for node in svg.iter("line") if node.get("y1") == node.get("y2") == "12")
    assert (whisker.get("x1"), whisker.get("x2")) == ("0%", "100%")


def test_what_cannot_be_told_shows_its_limit_and_no_mark():
    svg = drawn(cannot_tell("run_out", "mm", Message("measure.not_measured"), limit=AT_MOST))
    assert "dash" in classes(svg)
    assert not {"v-within", "v-outside", "v-unproven", "v-unjudged"} & set(classes(svg))
    assert "at most 0.03" in "".join(svg.itertext())


def test_without_limit_and_earlier_test_there_is_no_picture():
    assert limit_bar(run_out(0.01, limit=None)) == ""


def test_without_limit_two_tests_are_still_compared():
    svg = drawn(run_out(0.01, limit=None), run_out(0.02, limit=None))
    assert {"v-before", "v-unjudged"} <= set(classes(svg))


def test_an_earlier_test_in_another_unit_is_not_drawn_over_it():
    inch = reading("run_out", 0.001, 0.0009, 0.0011, "in")
    assert "v-before" not in classes(drawn(run_out(0.01), inch))


def test_text_is_escaped():
    odd = reading(
        "x", 1.0, 0.9, 1.1, '<b>"&', limit=Limit(2.0, None, "s", Basis.OWN),
        name=Message("pictures.at_least", {"limit": '"><script>alert(1)</script>'}),
    )  # fmt: skip
    svg = limit_bar(odd)
    assert "<script" not in svg
    assert '"><script>alert(1)</script>' in parsed(svg).get("aria-label")


def test_it_says_everything_it_shows():
    words = limit_bar_in_words(speed(400_000.0), speed(330_000.0))
    for part in ("400,000", "399,000 to 401,000", "360,000 to 440,000", "within", "330,000"):
        assert part in words


def test_paper_carries_its_own_colours_and_size():
    svg = drawn(speed(400_000.0), ground=paper(150.0, "Open Sans"))
    assert svg.get("width") == "150"
    assert "class" not in {key for node in svg.iter() for key in node.attrib}
    places = ("x", "x1", "x2", "y", "width", "transform")
    assert not any("%" in node.get(name, "") for node in svg.iter() for name in places)


@given(
    value=st.floats(-1e9, 1e9),
    half=st.floats(0, 1e9),
    low=st.none() | st.floats(-1e6, 1e6),
    width=st.floats(0, 1e6),
)
def test_every_place_is_on_the_picture(value, half, low, width):
    limit = Limit(low, None if width < 1 else (low or 0.0) + width, "s", Basis.OWN) if (
        low is not None or width >= 1
    ) else None  # fmt: skip
    one = reading(
        "x", value, value - half, value + half, "", limit=limit, name=Message("verdict.within")
    )
    scale = scale_of(one)
    assert scale.low < scale.high
    for side in (limit.low, limit.high) if limit else ():
        assert side is None or scale.holds(side)
    svg = limit_bar(one)
    for node in parsed(svg).iter() if svg else ():
        for name in ("x", "x1", "x2"):
            place = node.get(name)
            assert place is None or not place.endswith("%") or 0 <= float(place[:-1]) <= 100
