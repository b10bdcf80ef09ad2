"""Causes as bars: what their values refuse, where bars end, what stands beside them."""

import xml.etree.ElementTree as ET
from typing import Any

import pytest

from tests.pictures.reading_back import parsed
from turnwell.errors import InputError
from turnwell.pictures import (
    Estimated,
    IncidenceRow,
    IncidenceShown,
    RowKind,
    incidence_bar,
    incidence_caption,
    paper,
    row_name,
    share_words,
)

DRY = IncidenceRow("Too little lubricant", Estimated(0.31, 0.22, 0.41), 23)


def test_a_share_lies_between_nothing_and_all():
    with pytest.raises(InputError, match="no share"):
        IncidenceRow("Dropped", Estimated(0.9, 0.7, 1.2), 3)
    with pytest.raises(InputError, match="no share"):
        IncidenceRow("Dropped", Estimated(0.1, 0.0, 0.3), 3, before=Estimated(0.1, -0.1, 0.2))
    with pytest.raises(InputError, match="below 0"):
        IncidenceRow("Dropped", Estimated(0.1, 0.0, 0.3), -3)


def test_a_cause_has_its_name_and_the_picture_has_a_row():
    with pytest.raises(InputError, match="its name"):
        IncidenceRow("", Estimated(0.1, 0.0, 0.3), 3)
    assert IncidenceRow("", Estimated(0.1, 0.0, 0.3), 3, kind=RowKind.NOT_SETTLED).returns == 3
    with pytest.raises(InputError, match="one row"):
        IncidenceShown("one year after hand-back", (), 12)


def test_before_and_after_are_told_apart_once_a_row_has_both():
    assert not IncidenceShown("one year after hand-back", (DRY,), 60).has_before
    both = IncidenceRow("Dropped", Estimated(0.1, 0.0, 0.3), 3, before=Estimated(0.2, 0.1, 0.4))
    assert IncidenceShown("one year after hand-back", (DRY, both), 60, 40).has_before


BOTH = IncidenceRow(
    "Dropped", Estimated(0.1, 0.05, 0.2), 3, before=Estimated(0.2, 0.1, 0.4), returns_before=9
)
RUNNING = IncidenceRow("", Estimated(0.5, 0.4, 0.6), 31, kind=RowKind.STILL_RUNNING)
UNSETTLED = IncidenceRow("", Estimated(0.08, 0.04, 0.14), 1, kind=RowKind.NOT_SETTLED)


def boxes(row: IncidenceRow, **options: Any) -> list[tuple[str, float]]:
    """Give look and width of a row's bars, in per cent of the picture."""
    svg = parsed(incidence_bar(row, **options))
    return [
        (one.get("class", ""), float(one.attrib["width"].rstrip("%")))
        for one in svg.iter()
        if one.tag.endswith("rect")
    ]


def whisker(svg: ET.Element) -> tuple[float, float]:
    line = next(one for one in svg.iter() if one.get("class") == "ink-line")
    return float(line.attrib["x1"].rstrip("%")), float(line.attrib["x2"].rstrip("%"))


def test_a_bar_ends_at_its_share_of_the_common_scale():
    assert boxes(DRY, top=0.62) == [("fill-brass", 50.0)]
    assert whisker(parsed(incidence_bar(DRY, top=0.5))) == (44.0, 82.0)


def test_what_was_before_is_grey_and_what_is_after_is_brass():
    assert boxes(BOTH, top=0.4) == [("fill-soft", 50.0), ("fill-brass", 25.0)]


def test_what_is_no_cause_does_not_look_like_one():
    assert boxes(RUNNING, top=1.0)[0][0] == "ball--stay"
    assert boxes(UNSETTLED, top=1.0)[0][0] == "fill-soft"
    assert row_name(RUNNING) == "still running"
    assert row_name(UNSETTLED) == "cause not settled"
    assert row_name(DRY) == DRY.name


def test_one_scale_holds_every_row_before_and_after():
    shown = IncidenceShown("one year after hand-back", (DRY, BOTH), 60, 40)
    assert shown.top == 0.41
    nothing = IncidenceRow("Dropped", Estimated(0.0, 0.0, 0.0), 0)
    assert IncidenceShown("one year after hand-back", (nothing,), 3).top > 0.0
    assert boxes(nothing, top=0.01) == [("fill-brass", 0.0)]


def test_an_interval_beyond_the_scale_is_cut_without_a_cap():
    svg = parsed(incidence_bar(DRY, top=0.3))
    caps = [one for one in svg.iter() if one.get("class") == "ink-line"]
    assert whisker(svg)[1] == 100.0
    assert len(caps) == 2


@pytest.mark.parametrize(
    ("share", "count", "value", "between"),
    [
        (Estimated(0.31, 0.22, 0.41), 23, "31 %", "22 to 41 %"),
        (Estimated(0.012, 0.002, 0.04), 1, "1.2 %", "0.2 to 4.0 %"),
        (Estimated(0.018, 0.003, 0.122), 1, "2 %", "0 to 12 %"),
        (Estimated(0.0, 0.0, 0.06), 0, "0 %", "0 to 6 %"),
    ],
)
def test_a_share_is_written_in_per_cent(share: Estimated, count: int, value: str, between: str):
    words = share_words(share, count)
    assert (words.value, words.between) == (value, between)
    assert words.counted == {23: "23 returns", 1: "1 return", 0: "0 returns"}[count]


def test_those_still_running_are_handpieces():
    assert share_words(RUNNING.share, 31, kind=RowKind.STILL_RUNNING).counted == "31 handpieces"
    assert share_words(RUNNING.share, 1, kind=RowKind.STILL_RUNNING).counted == "1 handpiece"


def test_the_line_under_the_bars_says_age_and_counts():
    one = incidence_caption(IncidenceShown("800 cycles after hand-back", (DRY, UNSETTLED), 60))
    assert "come back by 800 cycles after hand-back" in one
    assert "on: 60" in one
    assert "Settling causes" in one
    two = incidence_caption(IncidenceShown("one year after hand-back", (BOTH,), 21, 53))
    assert "Grey: handed back before the training (53). Brass: after it (21)." in two
    assert "Settling causes" not in two


def test_on_paper_a_bar_says_itself():
    ground = paper(150.0, "Face")
    alone = parsed(incidence_bar(DRY, top=0.5, ground=ground))
    assert alone.get("aria-label") == "Too little lubricant: 31 %, interval 22 to 41 %."
    both = parsed(incidence_bar(BOTH, top=0.5, ground=ground)).get("aria-label")
    assert both == "Dropped: 20 % before (10 to 40 %), 10 % after (5 to 20 %)."
    assert parsed(incidence_bar(DRY, top=0.5)).get("aria-hidden") == "true"


def test_the_first_causes_keep_those_not_settled_and_those_still_running():
    causes = tuple(IncidenceRow(f"Cause {n}", Estimated(0.1, 0.0, 0.3), 3) for n in range(9))
    shown = IncidenceShown("one year", (*causes, UNSETTLED, RUNNING), 60)
    assert shown.first(7) == (*causes[:7], UNSETTLED, RUNNING)
    assert shown.rarer(7) == causes[7:]
    assert shown.first(20) == shown.rows
    assert shown.rarer(20) == ()
