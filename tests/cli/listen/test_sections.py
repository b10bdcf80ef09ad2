"""The sections under the readings, from documents with known content."""

import re

import pytest

from tests.pictures.listenings import a_full_listening
from turnwell.cli.lines import reading_line
from turnwell.cli.listen.plot import panels_of
from turnwell.cli.listen.sections import section_lines
from turnwell.cli.write import folded
from turnwell.measure import reading


def text(document):
    lines = [part for line in section_lines(document) for part in folded(line)]
    assert max(map(len, lines), default=0) <= 80
    return "\n".join(lines)


@pytest.fixture
def full():
    return a_full_listening(runs=1)


def test_a_recording_that_tells_only_a_speed_has_no_sections():
    nothing = {"readings": [], "coast_down": [], "orders": None, "condition": None, "level": None}
    assert list(section_lines(nothing)) == []


def test_the_drag_is_written_with_the_digits_of_its_interval(full):
    law = full["coast_down"][0]["law"]
    law["constant_rad_s2"] = {"value": 10_968.4, "low": 10_639.3, "high": 11_297.4}
    law["quadratic_per_rad"] = {"value": 6.2541e-6, "low": 6.0664e-6, "high": 6.4417e-6}
    law["misfit_rpm"], law["reached_share"] = 131.7, 0.0204
    said = text(full)
    assert "Coast-down from 6.50 s, from 400,000 rpm" in said
    assert re.search(r"drag constant +10,970 rad/s² \(10,640 to 11,300\)", said)
    assert re.search(r"drag with its square +6.25e-06 1/rad \(6.07e-06 to 6.44e-06\)", said)
    assert "with the speed" not in said
    assert "heard down to 2 % of it; the drag fits to 130 rpm" in said


def test_without_a_law_the_reason_stands_there(full):
    full["coast_down"][0] |= {"law": None, "why_no_law": "The sound is lost too soon."}
    assert "  The sound is lost too soon." in text(full)
    assert "drag constant" not in text(full)


def test_many_runs_are_cut_short_and_counted():
    said = text(a_full_listening(runs=7))
    assert said.count("Coast-down from") == 4
    assert "and 3 more; --json tells them all" in said


def test_lines_of_the_bearing_stand_in_a_table(full):
    rows = {line[:18].strip(): line for line in text(full).splitlines()}
    assert rows["outer ring"].split() == [
        *("outer", "ring", "2.765", "2.776", "17", "dB", "<", "0.001", "stands", "out")
    ]
    assert rows["ball"].endswith("0.300  does not stand out")
    assert "rotation x 2" in rows
    assert "rotation x 3" not in rows


def test_lines_out_of_reach_are_named_once_with_the_reason(full):
    why = "The recording holds nothing above order 3.4; record at 96,000 samples a second."
    for line in full["orders"]["lines"]:
        if line["part"] in {"inner_ring", "ball"}:
            line |= {"can_be_seen": False, "why_not": why, "level_db": None, "found_order": None}
    said = " ".join(text(full).split())
    assert f"Out of reach: inner ring, ball. {why}" in said


def test_a_line_without_figures_has_dashes(full):
    for line in full["orders"]["lines"]:
        line |= {"level_db": None, "found_order": None, "false_alarm": None, "stands_out": False}
    assert re.search(r"cage +0\.395 +- +- +-  does not stand out", text(full))


def test_without_a_bearing_there_is_no_table_but_what_the_lines_tell(full):
    full["orders"] |= {
        "bearing": None,
        "inferred_bearing": {
            "balls": 7,
            "balls_chance": 0.93,
            "ratio": {"value": 0.2103, "low": 0.2051, "high": 0.2155},
        },
    }
    said = " ".join(text(full).split())
    assert "expected" not in said
    assert "of a bearing of 7 balls (probability 0.93)" in said
    assert "0.210 (0.205 to 0.215)" in said


def test_condition_is_said_in_sentences(full):
    said = text(full)
    condition = full["condition"]
    for key in ("bearing", "growth", "roughness"):
        assert condition[key]["why"] in " ".join(said.split())
    assert "Resonance" not in said
    condition["growth"]["resonance_hz"] = {"value": 3_812.0, "low": 3_700.0, "high": 3_924.0}
    condition["roughness"] = None
    assert "Resonance at 3,810 Hz (3,700 to 3,920)" in text(full)


def test_a_reason_that_stands_with_a_reading_is_not_said_again(full):
    nothing = {"coast_down": [], "orders": None}
    whys = [full["condition"][key]["why"] for key in ("bearing", "growth", "roughness")]
    full |= nothing | {"readings": [{"why": whys[0]}, {"why": whys[1]}]}
    assert list(section_lines(full)) == ["", "Condition", f"  {whys[2]}"]
    full["readings"].append({"why": whys[2]})
    assert list(section_lines(full)) == []


def test_a_reading_without_a_unit_has_no_gap():
    found = reading("rotation_line_growth", 1.5, 1.4, 1.6, "")
    assert reading_line(found).split(": ")[1].startswith("1.50 (1.40 to 1.60), no limit")


def test_level_and_dose_have_bands_and_rules(full):
    full["level"] = {
        "calibrator_db": 94.0,
        "a_weighted_db": {"value": 71.2, "low": 68.0, "high": 74.4},
        "bands": [
            {"mid_hz": hz, "level_db": 40.0 + n}
            for n, hz in enumerate((25, 31.5, 63, 800, 1_250, 8_000))
        ],
        "dose": [
            {"rule": "niosh", "hours": 4.0, "percent": {"value": 12.3, "low": 8.1, "high": 18.9}}
        ],
    }
    said = text(full)
    assert "31.5  41.0" in said
    assert "1.25k  44.0" in said
    assert "Dose of 4 h a day: 12 % (8 to 19). NIOSH: 85 dB(A) for 8 h" in said


def test_the_picture_has_a_panel_for_each_thing_heard(full):
    assert [panel.heading for panel in panels_of(full)] == ["Speed", "Coast-down", "Orders"]
    assert [panel.heading for panel in panels_of(full | {"coast_down": [], "orders": None})] == [
        "Speed"
    ]
    both = panels_of(full, a_full_listening(380_000.0, runs=1))
    assert [panel.heading for panel in both] == ["Speed", "Coast-down", "Orders"]
    assert "before" in str(both[1].specification)
