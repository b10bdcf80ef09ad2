"""The return curve: what its values refuse, where its strokes and labels stand, what it says."""

import re
import xml.etree.ElementTree as ET
from datetime import date, timedelta
from itertools import combinations, pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.pictures.reading_back import parsed
from turnwell.errors import InputError
from turnwell.pictures import (
    CurveSteps,
    Estimated,
    OldPace,
    ReturnCurve,
    paper,
    return_curve,
    return_curve_caption,
    return_curve_in_words,
)
from turnwell.pictures.calendar_axis import day_ticks, short_day
from turnwell.pictures.day_marks import DayMark, mark_names
from turnwell.pictures.gutters import LEFT, NARROW, RIGHT, WIDE, Layout
from turnwell.pictures.line_ends import spread_out

FIRST = date(2025, 1, 1)
TRAINED = date(2025, 10, 14)
LAST = date(2026, 5, 15)


def steps(count: int = 20, *, handpieces: int = 14, until: float = 480.0) -> CurveSteps:
    """Give a curve of so many even steps up to a day."""
    days = [until * (n + 1) / count for n in range(count)]
    value = [(n + 1) / handpieces for n in range(count)]
    return CurveSteps.of(
        days,
        value,
        [0.6 * v for v in value],
        [1.5 * v for v in value],
        handpieces=handpieces,
        returns=count,
    )


def curve(**fields: Any) -> ReturnCurve:
    """Give a curve with a training; its fields as given."""
    made: dict[str, Any] = {
        "first": FIRST,
        "last": LAST,
        "office": steps(),
        "everyone": steps(200, handpieces=200),
        "offices": 9,
        "trainings": (TRAINED,),
        "old_pace": OldPace(TRAINED, Estimated(1.8, 1.1, 2.8)),
    }
    return ReturnCurve(**made | fields)


def test_the_curve_stands_at_nothing_before_its_first_step():
    one = CurveSteps.of([30, 90], [0.5, 1.0], [0.1, 0.4], [1.4, 2.1], handpieces=2, returns=2)
    assert one.at(29.9) == Estimated(0.0, 0.0, 0.0)
    assert one.at(30.0).value == 0.5
    assert one.at(1e6) == Estimated(1.0, 0.4, 2.1)


def test_the_old_pace_goes_on_from_the_curve_at_the_training():
    made = curve()
    start, end = made.carried_on or (0.0, 0.0)
    assert start == made.office.at((TRAINED - FIRST).days).value
    assert end - start == pytest.approx(1.8 * (LAST - TRAINED).days / 365.25)
    assert curve(old_pace=None).carried_on is None
    assert curve(old_pace=OldPace(LAST, Estimated(1.8, 1.1, 2.8))).carried_on is None


@pytest.mark.parametrize(
    ("days", "value", "says"),
    [
        ([1, 2], [0.1], "one length"),
        ([1, float("nan")], [0.1, 0.2], "not a finite number"),
        ([2, 1], [0.1, 0.2], "must rise"),
        ([-1, 1], [0.1, 0.2], "must rise"),
        ([1, 1], [0.1, 0.2], "must rise"),
        ([1, 2], [0.2, 0.1], "never falls"),
    ],
)
def test_steps_that_make_no_curve_are_refused(days: list[float], value: list[float], says: str):
    with pytest.raises(InputError, match=says):
        CurveSteps.of(days, value, value, value, handpieces=3, returns=2)


def test_a_value_outside_its_interval_and_no_handpiece_are_refused():
    with pytest.raises(InputError, match="within its interval"):
        CurveSteps.of([1], [0.5], [0.6], [0.7], handpieces=3, returns=2)
    with pytest.raises(InputError, match="one is needed"):
        CurveSteps.of([], [], [], [], handpieces=0, returns=0)


def test_days_that_do_not_fit_are_refused():
    with pytest.raises(InputError, match="must lie after"):
        curve(last=FIRST)
    with pytest.raises(InputError, match="days after the first"):
        curve(last=date(2025, 3, 1))


@pytest.mark.parametrize(
    ("handpieces", "count", "has_band"), [(1, 5, False), (14, 1, False), (2, 2, True)]
)
def test_an_interval_is_drawn_only_of_two_handpieces_and_two_returns(
    handpieces: int, count: int, has_band: bool
):
    assert steps(count, handpieces=handpieces).has_band is has_band


def drawn(made: ReturnCurve, **options: Any) -> ET.Element:
    return parsed(return_curve(made, **options))


def paths(made: ReturnCurve, name: str) -> list[str]:
    """Give the drawn paths of a class, in page units: 1000 across."""
    return [
        one.attrib["d"]
        for one in drawn(made).iter()
        if one.tag.endswith("path") and name in one.get("class", "").split()
    ]


def texts(svg: ET.Element, layout: str = "wide") -> list[str]:
    """Give the words of a picture in one layout."""
    other = {"wide": "narrow", "narrow": "wide"}[layout]
    return [
        one.text or ""
        for one in svg.iter()
        if one.tag.endswith("text") and other not in one.get("class", "").split()
    ]


def test_a_curve_rises_where_its_steps_are():
    one = CurveSteps.of([125, 250], [0.5, 1.0], [0.2, 0.6], [0.9, 1.6], handpieces=2, returns=2)
    made = curve(office=one, everyone=None, old_pace=None, last=date(2026, 5, 16))
    (path,) = paths(made, "curve--brass")
    # 500 days across 1,000 units; both steps are as high as each other, the first from the axis.
    heights = [float(y) for y in re.findall(r"V([\d.]+)", path)]
    start = float(re.match(r"M0 ([\d.]+)", path).group(1))
    assert re.findall(r"H([\d.]+)", path) == ["250", "500", "1000"]
    assert start - heights[0] == pytest.approx(heights[0] - heights[1], abs=0.11)


def test_the_office_lies_over_all_offices_and_has_the_accent():
    made = drawn(curve())
    order = [one.get("class") for one in made.iter() if one.tag.endswith("path")]
    assert order.index("curve curve--soft") < order.index("curve curve--brass")
    assert order.index("band-ink") < order.index("band-brass") < order.index("curve curve--soft")


def test_every_training_has_its_line_and_its_day_in_both_layouts():
    days = (date(2025, 2, 3), date(2025, 3, 1), TRAINED, date(2026, 5, 10))
    made = drawn(curve(trainings=days))
    for layout in ("wide", "narrow"):
        said = " ".join(texts(made, layout))
        assert all(
            day in said for day in ("3 Feb 2025", "1 Mar 2025", "14 Oct 2025", "10 May 2026")
        )
    upright = {
        one.get("x1")
        for one in made.iter()
        if one.tag.endswith("line") and one.get("class") == "ink-line"
    }
    assert len(upright) == len(days)


def test_a_training_outside_the_picture_is_left_out():
    made = curve(trainings=(date(2024, 1, 1), date(2027, 1, 1)), old_pace=None)
    assert "training" not in " ".join(texts(drawn(made)))
    assert "training" not in return_curve_in_words(made)
    assert "training" not in return_curve_caption(made)


@given(
    st.lists(st.integers(0, 499), min_size=1, max_size=9, unique=True),
    st.sampled_from([NARROW, WIDE]),
    st.floats(0.0, 1.0),
)
def test_names_of_trainings_never_lie_on_one_another(days: list[int], layout: Layout, wider: float):
    marks = [
        DayMark(day / 499, f"training, {short}", short)
        for day in sorted(days)
        for short in (short_day(FIRST + timedelta(days=day)),)
    ]
    names = mark_names(marks, layout)
    assert names
    # Placed for the least width, they stay apart at every other.
    px = layout.least_px + wider * (layout.most_px - layout.least_px)
    boxes = [
        (name.row, name.part * px, start, start + layout.width(name.text))
        for name in names
        for start in (name.part * px - name.side * layout.width(name.text),)
    ]
    for one, other in combinations(boxes, 2):
        if one[0] == other[0]:
            assert one[3] <= other[2] or other[3] <= one[2]
        high, low = (one, other) if one[0] > other[0] else (other, one)
        if high[0] > low[0]:
            assert not low[2] < high[1] < low[3], "a line goes through words"
    assert all(start >= -LEFT and stop <= px + RIGHT for _, _, start, stop in boxes)


@given(
    st.lists(st.tuples(st.floats(-50.0, 400.0), st.floats(10.0, 60.0)), min_size=1, max_size=5),
    st.floats(0.0, 10.0),
)
def test_names_at_line_ends_never_lie_on_one_another(ends: list[tuple[float, float]], gap: float):
    wanted, tall = [middle for middle, _ in ends], [high for _, high in ends]
    edges = spread_out(wanted, tall, gap=gap, top=0.0, bottom=340.0)
    order = sorted(range(len(ends)), key=lambda place: edges[place])
    for above, below in pairwise(order):
        assert edges[below] >= edges[above] + tall[above] + gap - 1e-6
    assert min(edges) >= 0.0
    assert [wanted[place] for place in order] == sorted(wanted)
    if sum(tall) + gap * len(tall) <= 340.0:
        assert max(edge + high for edge, high in zip(edges, tall, strict=True)) <= 340.0 + 1e-6


def test_names_at_line_ends_stay_at_their_lines_where_they_have_room():
    assert spread_out([200.0, 50.0], [20.0, 40.0], gap=8.0, top=0.0, bottom=300.0) == [190.0, 30.0]


def test_the_ends_carry_name_value_and_interval():
    said = texts(drawn(curve()))
    for words in ("this office", "1.43", "0.86 to 2.14", "all 9 offices", "1.00", "old pace"):
        assert words in said


def test_an_old_pace_that_runs_off_the_plot_ends_at_its_edge():
    steep = curve(old_pace=OldPace(TRAINED, Estimated(40.0, 20.0, 80.0)))
    (path,) = paths(steep, "curve--set")
    across, down = map(float, re.search(r"L([\d.]+) ([\d.]+)", path).groups())
    assert across < 700.0
    assert down == pytest.approx(43.0, abs=0.1)
    (even,) = paths(curve(), "curve--set")
    assert re.search(r"L1000 ", even)


@pytest.mark.parametrize(("handpieces", "count"), [(1, 3), (5, 1), (6, 0)])
def test_a_thin_office_has_no_band_and_says_so(handpieces: int, count: int):
    thin = curve(office=steps(count, handpieces=handpieces), everyone=None, old_pace=None)
    assert paths(thin, "band-brass") == []
    assert "interval" not in return_curve_caption(thin)
    said = return_curve_in_words(thin)
    assert ("too few for an interval" if count else "no return yet") in said
    assert "95 %" not in said


def test_an_office_without_a_return_can_carry_an_upper_end():
    # No event among 6: the upper end of 95 % is 3.689 / 6 [GARWOOD1936].
    none = CurveSteps.of([], [], [], [], handpieces=6, returns=0, most_of_none=3.689 / 6)
    made = curve(office=none, everyone=None, old_pace=None)
    assert {"0.00", "0.00 to 0.61"} <= set(texts(drawn(made)))
    said = return_curve_in_words(made)
    assert "This office: no return yet, 95 % interval 0.00 to 0.61; handpieces 6." in said
    with pytest.raises(InputError, match="only for none"):
        CurveSteps.of([1], [0.5], [0.2], [0.9], handpieces=2, returns=1, most_of_none=0.4)


def test_an_only_office_is_compared_with_nobody():
    alone = curve(everyone=None)
    assert "offices" not in " ".join(texts(drawn(alone))) + return_curve_in_words(alone)
    assert paths(alone, "curve--soft") == []


def test_a_big_shop_makes_no_heavy_picture_and_keeps_its_extremes():
    count = 60_000
    days = np.linspace(0.01, 499.0, count)
    value = np.arange(1, count + 1) / 20_000
    # One moment of a wide interval must still be seen.
    high = value * 1.02
    high[count // 2] = 2.6
    shop = CurveSteps.of(days, value, value * 0.98, high, handpieces=20_000, returns=count)
    made = curve(everyone=shop, old_pace=None)
    assert len(return_curve(made)) < 60_000
    (band,) = paths(made, "band-ink")
    bottom = float(re.match(r"M[\d.]+ ([\d.]+)", band).group(1))
    steps_up = re.findall(r"H([\d.]+)V([\d.]+)", band)
    # The scale ends 6 % over the end of the band, 264 pixels above the axis.
    height = 264.0 * 2.55 / (1.06 * 1.02 * 3.0)
    first = next(float(x) for x, y in steps_up if bottom - float(y) >= height)
    assert first == pytest.approx(500.0, abs=3.0)


@pytest.mark.parametrize("layout", [NARROW, WIDE])
@pytest.mark.parametrize("days", [12, 45, 200, 500, 1500, 4000, 12_000])
def test_months_have_room_for_their_names(days: int, layout: Layout):
    ticks = day_ticks(date(2012, 1, 10), date(2012, 1, 10) + timedelta(days=days), layout)
    assert len(ticks) >= 2
    for before, after in pairwise(ticks):
        apart = (after.part - before.part) * layout.least_px
        assert apart >= (layout.width(before.text) + layout.width(after.text)) / 2.0


def test_it_says_in_words_what_it_shows():
    said = return_curve_in_words(curve(visits=(date(2026, 2, 3),)))
    assert "This office: 1.43, 95 % interval 0.86 to 2.14; handpieces 14, returns 20." in said
    assert "All 9 offices: 1.00, 95 % interval 0.60 to 1.50; handpieces 200, returns 200." in said
    assert "At the training on 14 Oct 2025 this office stood at 0.79; since then 0.64 more." in said
    assert "1.8 a year (95 % interval 1.1 to 2.8), it would have come to 1.84." in said
    assert "Visits: 3 Feb 2026." in said


def test_page_and_paper_are_one_drawing():
    made = curve()
    sheet = drawn(made, ground=paper(500.0, "Face"))
    assert set(texts(sheet)) == set(texts(drawn(made)))
    assert not any("class" in one.attrib for one in sheet.iter())
    assert drawn(made).get("aria-label") == sheet.get("aria-label") == return_curve_in_words(made)
    quiet = drawn(made, says_itself=False)
    assert quiet.get("aria-hidden") == "true"
