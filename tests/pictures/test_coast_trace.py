"""The coast trace: times of a fall, places of labels, words, and the chart that comes of it."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from tests.pictures.listenings import a_coast_down, a_full_listening, a_listening
from tests.pictures.reading_back import parsed
from turnwell.errors import InputError
from turnwell.pictures import coast_trace, coast_trace_in_words
from turnwell.pictures.charts import svg_of
from turnwell.pictures.coast_runs import CoastRuns, Curve

MOST_POINTS = 400
MOST_BYTES = 60_000


def drawn_words(svg):
    texts = (node for node in parsed(svg).iter() if node.tag.endswith("text"))
    return ["".join(node.itertext()) for node in texts]


def test_the_times_are_those_of_the_equation_of_motion():
    # The same fall by an independent solver: scipy's solve_ivp on dw/dt = -k (1 + w^2).
    coast_s = 3.0
    rate = math.pi / 4.0 / coast_s
    reached = [lambda _t, w, share=share: w[0] - share for share in (0.9, 0.5, 0.1)]
    solved = solve_ivp(
        lambda _t, w: -rate * (1.0 + w * w), (0, coast_s), [1.0], events=reached, rtol=1e-10
    )
    runs = CoastRuns.from_listening({"coast_down": [a_coast_down(coast_s=coast_s, points=3000)]})
    for share, times in zip((0.9, 0.5, 0.1), solved.t_events, strict=True):
        assert runs.typical.time_to(share) == pytest.approx(times[0], abs=1e-4)


@given(st.lists(st.floats(1.0, 1e6), min_size=2, max_size=50), st.floats(0.0, 1e6))
def test_a_time_lies_within_the_curve_or_is_not_given(speeds, wanted):
    curve = Curve(tuple(map(float, range(len(speeds)))), tuple(sorted(speeds, reverse=True)))
    time = curve.time_at(wanted)
    assert (time is not None) == (min(speeds) <= wanted <= max(speeds))
    assert time is None or 0.0 <= time <= len(speeds) - 1


@given(st.integers(2, 300), st.integers(2, 80))
def test_thinning_keeps_the_ends_and_the_bound(count, most):
    whole = tuple(map(float, range(count)))
    thin = Curve(whole, whole).thinned(most)
    assert (thin.time_s[0], thin.time_s[-1]) == (0.0, count - 1.0)
    assert len(thin.time_s) == min(count, most)


def test_columns_of_unequal_length_are_refused():
    with pytest.raises(InputError, match="2 times and 1 speeds"):
        Curve((0.0, 1.0), (1.0,))


@pytest.mark.parametrize(
    "listening", [None, {}, a_listening(), {"coast_down": []}, {"coast_down": None}]
)
def test_a_document_without_coast_downs_gives_no_trace(listening):
    assert coast_trace(listening) is None
    assert coast_trace(listening, a_full_listening()).before is None


def test_its_words_name_every_mark_and_both_tests():
    words = coast_trace_in_words(coast_trace(a_full_listening(), a_full_listening(coast_s=2.0)))
    # tan(pi/4 (1 - t/3)) = 0.5 gives t = 3 (1 - 4 atan(0.5) / pi) = 1.23.
    for part in ("After, runs: 3, from 400,000 rpm", "50 % in 1.23 s", "Before, dashed"):
        assert part in words
    assert "(rubbing) + growing with its square (air)" in words


def test_a_fall_that_is_lost_says_so_and_why_no_drag_was_told():
    listening = {"coast_down": [a_coast_down(heard_to=0.3, law=False)]}
    words = coast_trace_in_words(coast_trace(listening))
    assert "10 % not heard" in words
    assert "too soon to tell the drag" in words
    texts = drawn_words(svg_of(coast_trace(listening).specification(320)))
    assert "50 %" in texts
    assert "10 %" not in texts


@pytest.mark.parametrize("width", [320, 640, 960])
def test_two_tests_are_told_apart_without_colour(width):
    chart = coast_trace(a_full_listening(), a_full_listening(331_000.0, coast_s=1.9))
    svg = parsed(svg_of(chart.specification(width)))
    texts = ["".join(node.itertext()) for node in svg.iter() if node.tag.endswith("text")]
    assert sum(text.startswith("after") for text in texts) == 2  # the word and its halo
    assert sum(text.startswith("before") for text in texts) == 2
    dashes = {node.get("stroke-dasharray") for node in svg.iter() if node.get("stroke-dasharray")}
    assert "6,4" in dashes
    # The open circles of the earlier test are filled with the ground.
    circles = [node.get("fill") for node in svg.iter() if node.get("d", "").count("A") == 2]
    assert len(circles) == 6
    assert circles.count("#FBF8F2") == 3


def test_a_law_is_drawn_through_one_run_and_every_run_is_there():
    rows = coast_trace(a_full_listening(runs=5)).specification(640)["datasets"]
    assert {row["run"] for row in rows["after_runs"]} == set(range(5))
    assert rows["after_law"][0]["speed_rpm"] == 400_000


def test_the_chart_stays_light():
    chart = coast_trace(a_full_listening(), a_full_listening(331_000.0))
    for width in (320, 640, 960):
        rows = chart.specification(width)["datasets"].values()
        assert sum(len(row) for row in rows) <= MOST_POINTS
    drawn = [svg_of(chart.specification(width)) for width in (320, 640, 960)]
    assert sum(map(len, drawn)) < MOST_BYTES
