"""The life strip, read back from its own SVG."""

from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.pictures.reading_back import parsed
from turnwell.errors import InputError
from turnwell.pictures import CycleCount, Life, LifeEvent, LifeKind, life_strip, life_strip_in_words
from turnwell.pictures.life_strip import APART, _levels

TODAY = date(2026, 5, 12)


def a_return(day, until=None, **more):
    return LifeEvent(day, LifeKind.RETURN, "Returned.", until=until, **more)


def balls(svg):
    return [node for node in svg.iter("circle") if "ball" in node.get("class", "")]


def test_events_are_kept_in_order_and_stays_numbered():
    life = Life(
        "H", date(2024, 1, 1), TODAY,
        (a_return(date(2026, 1, 1)), LifeEvent(date(2025, 6, 1), LifeKind.VISIT, "Visit."),
         a_return(date(2025, 1, 1))),
    )  # fmt: skip
    assert [number for number, _ in life.numbered] == [1, None, 2]
    assert [event.on.year for _, event in life.numbered] == [2025, 2025, 2026]


def test_a_stay_lies_where_its_day_lies():
    life = Life("H", date(2024, 1, 1), date(2026, 1, 1), (a_return(date(2025, 1, 1)),))
    svg = parsed(life_strip(life))
    place = next(node.get("x") for node in svg.iter("svg") if node.get("x"))
    # 366 of 731 days.
    assert float(place[:-1]) == pytest.approx(100 * 366 / 731, abs=0.01)


def test_a_return_is_ringed_otherwise_than_another_stay():
    life = Life(
        "H", date(2024, 1, 1), TODAY,
        (a_return(date(2025, 1, 1)), LifeEvent(date(2025, 9, 1), LifeKind.STAY, "Planned.")),
    )  # fmt: skip
    marks = [node.get("class") for node in balls(parsed(life_strip(life)))]
    assert marks == ["ball", "ball--stay"]


def test_a_life_without_a_known_beginning_starts_dotted():
    svg = parsed(life_strip(Life("H", None, TODAY, (a_return(date(2026, 5, 11)),))))
    assert any("dash" in node.get("class", "") for node in svg.iter("line"))


def test_counts_of_cycles_stand_under_the_line():
    life = Life("H", date(2024, 1, 1), TODAY, counts=(CycleCount(date(2025, 1, 1), 1986),))
    assert "1,986 cycles" in "".join(parsed(life_strip(life)).itertext())


def test_its_words_count_each_kind():
    life = Life("H", date(2024, 1, 1), TODAY, (a_return(date(2025, 1, 1)),))
    assert "returns 1, other stays at the bench 0, visits at the office 0" in life_strip_in_words(
        life
    )


def test_text_is_escaped():
    life = Life('<b>&"', None, TODAY, (a_return(date(2026, 1, 1), short="<i>"),))
    assert parsed(life_strip(life)).get("aria-label").startswith('Life of <b>&"')


def test_a_stay_cannot_end_before_it_began():
    with pytest.raises(InputError, match="before it began"):
        a_return(date(2026, 1, 2), until=date(2026, 1, 1))


@given(st.lists(st.floats(0, 1), max_size=60).map(sorted))
def test_marks_on_one_level_never_touch(parts):
    levels = _levels(parts)
    for level in {level for level in levels if level is not None}:
        places = [part for part, at in zip(parts, levels, strict=True) if at == level]
        assert all(b - a >= APART for a, b in pairwise(places))


@given(
    st.lists(
        st.tuples(st.integers(0, 4000), st.integers(0, 400), st.sampled_from(LifeKind)), max_size=40
    )
)
def test_any_life_is_drawn(rows):
    first = date(2015, 1, 1)
    events = tuple(
        LifeEvent(first + timedelta(day), kind, "x", "y", first + timedelta(day + away))
        for day, away, kind in rows
    )
    svg = parsed(life_strip(Life("H", first, TODAY, events)))
    assert len(balls(svg)) <= sum(event.kind is not LifeKind.VISIT for event in events)
