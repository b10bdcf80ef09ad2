"""Commas that part columns and mark decimals are put right where certain, else refused."""

import pytest

from tests.steam.reading.test_reading import P, T, clock, lines
from turnwell.errors import CannotTellError
from turnwell.steam.reading import read_record


def comma(value: float, digits: int = 1) -> str:
    return f"{value:.{digits}f}".replace(".", ",")


HEADED = {
    "all": (
        lambda s, t, p: f"{comma(s)},{comma(t)},{comma(p)}",
        "time [s],T [°C],p [kPa abs]\n",
    ),
    "whole seconds": (lambda s, t, p: f"{s},{comma(t)},{comma(p)}", "time [s],T,p [kPa]\n"),
    "gauge in bar": (
        lambda s, t, p: f"{clock(s)},{comma(t)},{comma(p / 100 - 1.01325, 3)}",
        "Zeit,Temperatur,Druck\n",
    ),
    "pressure before": (
        lambda s, t, p: f"{clock(s)},{comma(p / 100, 3)},{comma(t)}",
        "Zeit,Druck,Temperatur\n",
    ),
    "whole kPa": (lambda s, t, p: f"{clock(s)},{comma(t)},{p:.0f}", "Zeit,Temperatur,Druck\n"),
}


@pytest.mark.parametrize(("write", "heading"), HEADED.values(), ids=HEADED.keys())
def test_headings_tell_which_numbers_a_comma_parted(write, heading):
    record = read_record(lines(write, heading), "run.csv")
    assert record.temperature_c == pytest.approx(T, abs=0.06)
    assert record.pressure_kpa == pytest.approx(P, abs=0.6)
    assert record.counts.broken == 0


@pytest.mark.parametrize("write", [case[0] for case in HEADED.values()], ids=HEADED.keys())
def test_without_headings_tenths_are_never_dropped_in_silence(write):
    with pytest.raises(CannotTellError, match="with semicolons"):
        read_record(lines(write), "run.csv")


def test_rows_that_lose_their_noughts_are_refused_in_the_same_words():
    content = lines(
        lambda s, t, p: ",".join(
            [clock(s), comma(t).removesuffix(",0"), comma(p).removesuffix(",0")]
        ),
        "time,T,p\n",
    )
    with pytest.raises(CannotTellError, match="with semicolons"):
        read_record(content, "run.csv")


WHOLE = {
    "seconds": lambda s, t, p: f"{s},{t:.0f},{p:.0f}",
    "clock": lambda s, t, p: f"{clock(s)},{t:.0f},{p:.0f}",
    "mercury": lambda s, t, p: f"{clock(s)},{t:.0f},{p / 0.1333224:.0f}",
    "with a jacket": lambda s, t, p: f"{clock(s)},{t:.0f},{p:.0f},138",
}


@pytest.mark.parametrize("heading", ["", "time,T,p\n"])
@pytest.mark.parametrize("write", WHOLE.values(), ids=WHOLE.keys())
def test_whole_numbers_are_left_alone(write, heading):
    if heading and write(0, 1.0, 1.0).count(",") == 3:
        heading = "time,T,p,jacket\n"
    record = read_record(lines(write, heading), "run.csv")
    assert record.temperature_c == pytest.approx(T, abs=0.51)
    assert record.pressure_kpa == pytest.approx(P, abs=0.51)
