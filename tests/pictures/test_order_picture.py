"""The order picture: what is drawn, where its flags hang, its words, what it leaves out."""

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.pictures.listenings import PARTS, a_full_listening, a_listening, some_orders
from tests.pictures.reading_back import parsed
from turnwell.pictures import order_picture, order_picture_in_words
from turnwell.pictures.charts import svg_of
from turnwell.pictures.order_picture import TOP_ORDER
from turnwell.pictures.order_picture_flags import flags_of
from turnwell.pictures.order_spectra import OrderSpectrum

MOST_BYTES = 110_000


def spectrum(levels, step=0.01, first=0.0):
    return OrderSpectrum("steady", "direct", first, step, tuple(levels), 1.0, 2.0)


def texts_of(svg):
    texts = (node for node in parsed(svg).iter() if node.tag.endswith("text"))
    return ["".join(node.itertext()) for node in texts]


@given(st.lists(st.floats(-10.0, 60.0), min_size=1, max_size=900), st.integers(1, 400))
def test_thinning_keeps_the_highest_point_and_its_order(levels, columns):
    whole = spectrum(levels)
    within = [level for place, level in enumerate(levels) if place * 0.01 <= TOP_ORDER]
    points = whole.points(columns, TOP_ORDER)
    assert len(points) <= columns
    assert max(point.level_db for point in points) == max(within)
    orders = [point.order for point in points]
    assert orders == sorted(orders)


def test_the_highest_level_near_an_order_is_found_and_beyond_its_end_is_none():
    line = spectrum([0.0] * 100 + [20.0] + [0.0] * 99)
    assert line.highest_within(0.98, 1.02) == 20.0
    assert line.highest_within(1.2, 1.3) == 0.0
    assert line.highest_within(3.0, 3.1) is None


@pytest.mark.parametrize("listening", [None, {}, a_listening(), {"orders": None}])
def test_a_document_without_orders_gives_no_picture(listening):
    assert order_picture(listening) is None
    assert order_picture(listening, a_full_listening()).before is None


def test_its_words_say_what_stands_out_and_what_cannot_be_heard():
    words = order_picture_in_words(order_picture(a_full_listening()))
    for part in ("beyond 3.4 times the rotation nothing can be heard",
                 "outer ring, expected at 2.77: stands out by 17 dB at 2.78",
                 "inner ring, expected at 4.24: does not stand out",
                 "rotation, expected at 1.00: stands out by 46 dB"):  # fmt: skip
        assert part in words, part


def test_one_speed_is_not_said_as_a_range():
    listening = a_full_listening()
    listening["orders"]["spectra"][0] |= {"speed_low_rpm": 399_900.0, "speed_high_rpm": 400_100.0}
    words = order_picture_in_words(order_picture(listening))
    assert "Running steadily, 400,000 rpm:" in words
    assert "Coasting down, 60,000 to 390,000 rpm:" in words


def test_a_line_beyond_reach_is_never_said_to_be_absent():
    listening = a_full_listening()
    for line in listening["orders"]["lines"]:
        if line["part"] == "ball":
            line |= {"can_be_seen": False, "found_order": None, "level_db": None}
    words = order_picture_in_words(order_picture(listening))
    assert "ball, expected at 4.55: cannot be heard here" in words


@pytest.mark.parametrize("width", [320, 640, 960])
@pytest.mark.parametrize("stands_out", [(), ("outer_ring",), tuple(PARTS)])
def test_no_flag_touches_another_or_hangs_across_its_pole(width, stands_out):
    picture = order_picture({"orders": some_orders(stands_out=stands_out)})
    inner = width - 34.0
    flags = flags_of(picture, inner, "en")
    assert {flag.text.split(" stands")[0] for flag in flags} >= {
        "cage", "rotation", "outer ring", "inner ring", "ball",
    }  # fmt: skip
    for one, other in combinations(flags, 2):
        # A word is crossed by no pole that comes down from above it.
        for word, pole in ((one, other), (other, one)):
            at = pole.order / TOP_ORDER * inner
            assert not (pole.row > word.row and word.left_px < at < word.right_px)
        if one.row == other.row:
            assert one.right_px <= other.left_px or other.right_px <= one.left_px
    assert all(flag.left_px >= 0.0 and flag.right_px <= inner for flag in flags)


@pytest.mark.parametrize("width", [320, 960])
def test_what_stands_out_has_its_shape_and_its_word(width):
    svg = svg_of(order_picture(a_full_listening()).specification(width))
    assert "outer ring stands out" in texts_of(svg)
    triangles = [n for n in parsed(svg).iter() if n.get("fill") == "#8A5A1C" and n.get("d")]
    assert len(triangles) == 2  # over the peak and at the flag
    quiet = svg_of(order_picture(a_full_listening(stands_out=())).specification(width))
    assert not [n for n in parsed(quiet).iter() if n.get("fill") == "#8A5A1C" and n.get("d")]


@pytest.mark.parametrize("width", [320, 960])
def test_what_stood_out_before_has_an_empty_mark(width):
    picture = order_picture(a_full_listening(stands_out=()), a_full_listening())
    svg = svg_of(picture.specification(width))
    assert "outer ring stood out before" in texts_of(svg)
    rows = picture.specification(width)["datasets"]
    assert (rows["marks"], rows["flag_marks"]) == ([], [])
    assert len(rows["gone_marks"]) == len(rows["gone_flag_marks"]) == 1
    still = order_picture(a_full_listening(), a_full_listening())
    assert still.gone == ()
    assert order_picture(a_full_listening()).gone == ()


def test_a_mark_stands_over_the_peak_it_names():
    rows = order_picture(a_full_listening()).specification(640)["datasets"]
    (mark,) = rows["marks"]
    near = [
        row["px"]
        for row in rows["after"]
        if row["panel"] == 1 and abs(row["order"] - mark["order"]) < 0.03
    ]
    assert mark["order"] == pytest.approx(PARTS["outer_ring"] * 1.004)
    assert min(near) - mark["px"] == pytest.approx(10.0, abs=0.2)


def test_what_a_stretch_cannot_hold_is_grey_and_named():
    picture = order_picture(a_full_listening())
    rows = picture.specification(640)["datasets"]
    (deaf,) = rows["deaf"]
    assert (deaf["order"], deaf["stop"]) == (pytest.approx(3.4), TOP_ORDER)
    assert "cannot be heard here" in texts_of(svg_of(picture.specification(640)))


def test_the_earlier_test_is_a_plane_under_the_line():
    picture = order_picture(a_full_listening(), a_full_listening(rotation_db=30.0))
    assert [panel.before is not None for panel in picture.panels] == [True, True]
    rows = picture.specification(640)["datasets"]
    assert {row["panel"] for row in rows["before"]} == {0, 1}
    names = [name["data"]["name"] for name in picture.specification(640)["layer"]]
    assert names.index("before") < names.index("after")


def test_a_stretch_that_only_the_earlier_test_has_is_left_out():
    after = a_full_listening()
    after["orders"]["spectra"] = after["orders"]["spectra"][:1]
    assert len(order_picture(after, a_full_listening()).panels) == 1


def test_the_envelope_of_the_steady_stretch_stands_in_for_that_of_the_coast_down():
    listening = a_full_listening()
    steady = listening["orders"]["spectra"][0]
    listening["orders"]["spectra"].append(steady | {"kind": "envelope"})
    picture = order_picture(listening)
    assert [panel.after.kind for panel in picture.panels] == ["direct", "direct", "envelope"]
    assert "swelling of the sound" in order_picture_in_words(picture)


def test_the_picture_stays_light():
    picture = order_picture(a_full_listening(), a_full_listening(rotation_db=30.0))
    drawn = [svg_of(picture.specification(width)) for width in (320, 640, 960)]
    assert sum(map(len, drawn)) < MOST_BYTES
    for name in ("before", "after"):
        for panel in (0, 1):
            rows = picture.specification(960)["datasets"][name]
            assert sum(row["panel"] == panel for row in rows) <= 400
