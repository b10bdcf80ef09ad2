"""Words above columns are heard in many languages; an unknown unit is never replaced."""

import pytest

from tests.steam.reading.test_reading import COUNT, clock, lines
from turnwell.errors import CannotTellError
from turnwell.steam.reading import UnsureLayoutError, read_record
from turnwell.steam.reading.headings import Said, names_vacuum, said_by, strange_unit_in

# Common words of the trade in each language, from dictionaries.
HEARD = {
    "Kammerdruck [bar abs]": Said("pressure", "chamber", "bar", "absolute"),
    "Pression chambre (kPa)": Said("pressure", "chamber", "kPa", ""),
    "Température (°C)": Said("temperature", "", "C", ""),
    "Temperatura cámara (°C)": Said("temperature", "chamber", "C", ""),
    "Manteltemperatur": Said("temperature", "other", "", ""),
    "Jacket T": Said("temperature", "other", "", ""),
    "Chamber T": Said("temperature", "chamber", "", ""),
    "Vacuum (inHg)": Said("pressure", "", "inHg", ""),
    "Pressure psig": Said("pressure", "", "psi", "gauge"),
    "давление, кПа": Said("pressure", "", "kPa", ""),
    "温度 ℃": Said("temperature", "", "C", ""),
    "Uhrzeit": Said("time", "", "", ""),
    "Heure": Said("time", "", "", ""),
    "Time [s]": Said("time", "", "s", ""),
    "Elapsed (min)": Said("time", "", "min", ""),
    "Phase": Said("stage", "", "", ""),
    "Solltemperatur": Said("set", "", "", ""),
    "Theoretical temperature": Said("set", "", "", ""),
    "F0": Said("lethality", "", "", ""),
    "Nr": Said("counter", "", "", ""),
}


@pytest.mark.parametrize(("heading", "said"), HEARD.items(), ids=HEARD.keys())
def test_a_heading_says_what_it_says(heading, said):
    heard = said_by(heading)
    assert (heard.role, heard.unit, heard.zero) == (said.role, said.unit, said.zero)
    if said.place:
        assert heard.place == said.place


STRANGE = {
    "p [atm]": "atm",
    "Pressure (cmHg)": "cmHg",
    "Druck [Kammer]": "",
    "p (abs)": "",
    "p [bar]": "",
    "p [hPa]": "",
    "Pressure (as read at the door)": "",
}


@pytest.mark.parametrize(("heading", "unit"), STRANGE.items(), ids=STRANGE.keys())
def test_a_unit_in_brackets_that_is_not_known_is_found(heading, unit):
    assert strange_unit_in(heading) == unit


def test_vacuum_alone_is_told_from_vacuum_and_pressure():
    assert names_vacuum("Vakuum (mmHg)")
    assert not names_vacuum("Vacuum/Pressure (kPa)")
    assert not names_vacuum("Druck")


def test_a_unit_that_is_not_known_is_asked_about_not_taken_for_a_near_one():
    content = lines(
        lambda s, t, p: f"{s},{t:.1f},{p / 101.325:.3f}", "time [s],T [°C],pressure [atm]\n"
    )
    with pytest.raises(UnsureLayoutError, match="“atm”"):
        read_record(content, "run.csv")


def test_the_newest_row_first_is_named_as_time_that_runs_back():
    text = lines(lambda s, t, p: f"{clock(s)},{t:.1f},{p:.1f}").decode().strip()
    turned = "\n".join(reversed(text.split("\n"))).encode()
    with pytest.raises(CannotTellError, match="runs back"):
        read_record(turned, "run.csv")


def test_a_rolls_word_wider_than_its_column_costs_no_row():
    """A long word in few rows stands over what is blank in all others."""
    wide = {2300: "a_word_far_wider", 2310: "a_word_far_wider"}
    content = lines(
        lambda s, t, p: f"{clock(s)} {wide.get(s, 'dry'):>16}  {t:6.1f} {p:7.1f}",
    )
    record = read_record(content, "run.txt")
    assert record.counts.kept == COUNT
    assert record.stage_text is not None
    assert record.stage_text[230] == "a_word_far_wider"
