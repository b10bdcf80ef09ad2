"""The speed trace: thinning, clocks, words, and the chart that comes of it."""

from itertools import pairwise

import altair as alt
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.pictures.listenings import a_listening
from tests.pictures.reading_back import parsed
from turnwell.errors import InputError
from turnwell.pictures import SpeedTrace, speed_trace, speed_trace_in_words
from turnwell.pictures.charts import VEGA_LITE, svg_of
from turnwell.pictures.speed_trace_labels import SPANS, band_labels, head_labels
from turnwell.pictures.trace import COLUMNS, thinned

MOST_POINTS = 2_000


def trace(*args, **options):
    return SpeedTrace.from_listening(a_listening(*args, **options))


@given(
    st.lists(st.floats(-1e6, 1e6), min_size=2, max_size=400),
    st.integers(1, 40),
)
def test_thinning_keeps_the_ends_and_every_extreme(y, columns):
    x = list(range(len(y)))
    kept = thinned(x, y, columns)
    assert kept == sorted(set(kept))
    assert len(kept) <= 2 * columns + 2
    assert {0, len(y) - 1} <= set(kept)
    assert (max(y), min(y)) == (max(y[i] for i in kept), min(y[i] for i in kept))


def test_a_single_spike_among_many_points_is_drawn():
    listening = a_listening(step_s=0.0005)
    listening["track"]["speed_rpm"][7777] = 431_000.0
    points = SpeedTrace.from_listening(listening).points()
    assert max(point.speed_rpm for point in points) == 431_000.0
    assert len(points) <= 2 * COLUMNS + 2


def test_a_pause_of_the_track_breaks_the_line():
    points = trace(pause=(3.0, 3.4)).points()
    assert {point.run for point in points} == {0, 1}
    # No two joined points lie on either side of the pause.
    assert not any(
        a.run == b.run and a.time_s <= 3.0 and b.time_s >= 3.4 for a, b in pairwise(points)
    )


def test_the_interval_is_1_96_standard_deviations():
    # 97.5 % point of the normal distribution, 1.959964: any table of it.
    point = trace().points()[300]
    assert point.high_rpm - point.speed_rpm == pytest.approx(195.9964, abs=0.01)


def test_one_run_starts_at_0():
    assert speed_trace(trace(start_s=1.7), None).after.start_s == pytest.approx(0.0)


def test_two_runs_meet_where_the_air_was_shut_off():
    chart = speed_trace(trace(start_s=0.2), trace(331_000.0, start_s=1.1, steady_s=2.0))
    assert (chart.after.release_s, chart.before.release_s) == pytest.approx((0.0, 0.0))


def test_without_a_coast_down_two_runs_start_together():
    short = a_listening()
    short["segments"] = short["segments"][:3]
    chart = speed_trace(SpeedTrace.from_listening(short), trace())
    assert (chart.after.start_s, chart.before.start_s) == pytest.approx((0.0, 0.0))


@pytest.mark.parametrize("listening", [None, {}, {"track": None}, {"track": {"time_s": [1.0]}}])
def test_without_a_track_there_is_no_trace(listening):
    assert SpeedTrace.from_listening(listening) is None


def test_columns_of_unequal_length_are_refused():
    with pytest.raises(InputError, match="needs as many of each"):
        SpeedTrace((1.0, 2.0), (1.0,), (1.0, 1.0))


def test_its_words_name_each_phase_and_the_limit():
    words = speed_trace_in_words(speed_trace(trace(), trace(331_000.0)))
    for part in ("After: run-up 2.0 s", "steady 400,000 rpm", "coast-down 3.0 s", "331,000",
                 "Limit 360,000 to 440,000 rpm"):  # fmt: skip
        assert part in words


@pytest.mark.parametrize("span", SPANS)
def test_no_name_of_a_phase_touches_another_at_any_width(span):
    chart = speed_trace(trace(run_up_s=0.2, coast_s=0.3), None)
    shown = [label for label in head_labels(chart, "en") if label.from_px == span.from_px]
    px_per_s = span.from_px / (chart.clock[1] - chart.clock[0])
    for row in (0, 1):
        ends = [
            (label.time_s * px_per_s, label.time_s * px_per_s + 8.1 * len(label.text))
            for label in shown
            if label.row == row
        ]
        assert all(a[1] <= b[0] for a, b in pairwise(sorted(ends)))


def test_the_band_is_named_in_full_only_where_there_is_room():
    full, short = band_labels(speed_trace(trace(), None), "en")
    assert (short.text, short.to_px) == ("limit", full.from_px)


def test_the_chart_library_the_renderer_and_the_specification_agree_on_the_version():
    assert alt.SCHEMA_VERSION.startswith(f"v{VEGA_LITE}.")


def test_a_chart_holds_fewer_points_than_the_browser_can_bear():
    chart = speed_trace(trace(step_s=0.0005), trace(step_s=0.0005))
    sets = chart.specification(960, interactive=True)["datasets"]
    columns = [sets[name][0] for name in ("after", "before")]
    assert sum(len(column) for curve in columns for column in curve.values()) <= 5 * MOST_POINTS


@pytest.mark.parametrize("width", [320, 640, 960])
def test_a_narrow_chart_has_the_points_it_can_show(width):
    sets = speed_trace(trace(step_s=0.0005), None).specification(width)["datasets"]
    assert len(sets["after"][0]["time_s"]) <= 2 * width / 3 + 2


def test_page_and_paper_differ_in_their_ground_alone():
    chart = speed_trace(trace(), trace(331_000.0))
    page, paper = chart.specification(960), chart.specification(960, ground="#FFFFFF")
    text = repr(paper).replace("#FFFFFF", "#FBF8F2")
    assert repr(page) == text


@pytest.fixture(scope="module")
def drawing():
    return svg_of(speed_trace(trace(), trace(331_000.0)).specification(640))


def test_the_drawing_has_no_style_of_its_own_and_no_address(drawing):
    svg = parsed(drawing)
    assert not any("style" in node.attrib or node.tag.endswith("style") for node in svg.iter())
    assert "http" not in drawing.replace("http://www.w3.org/", "")


def test_the_drawing_shows_every_label_in_the_shipped_face(drawing):
    svg = parsed(drawing)
    texts = [node for node in svg.iter() if node.tag.endswith("text")]
    words = {"".join(node.itertext()) for node in texts}
    assert {"run-up", "steady", "coast-down", "after 400,000", "before 331,000"} <= words
    assert {node.get("font-family") for node in texts} == {"Open Sans"}


def test_two_drawings_on_a_page_share_no_name(drawing):
    other = svg_of(speed_trace(trace(), None).specification(640))
    ids = [{n.get("id") for n in parsed(s).iter() if n.get("id")} for s in (drawing, other)]
    assert ids[0]
    assert not ids[0] & ids[1]


def test_a_drawing_is_kept_by_its_content(tmp_path, monkeypatch):
    specification = speed_trace(trace(), None).specification(320)
    first = svg_of(specification, kept_in=tmp_path)
    monkeypatch.setattr("turnwell.pictures.charts._drawn", lambda text: "drawn anew")
    assert svg_of(specification, kept_in=tmp_path) == first
    assert svg_of(specification | {"width": 321}, kept_in=tmp_path) == "drawn anew"
    assert len(list(tmp_path.iterdir())) == 2
