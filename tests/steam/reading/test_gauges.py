"""Gauges that change unit or sign, and files that deny what was confirmed, are never misread.

Units against each other: NIST SP 811, Guide for the use of the SI.
"""

import pytest

from tests.steam.reading.test_reading import P, T, clock, lines
from turnwell.errors import CannotTellError
from turnwell.steam.reading import Layout, UnsureLayoutError, propose, read_record

INHG_KPA, PSI_KPA, MMHG_KPA = 3.386389, 6.894757, 0.1333224
REST_KPA = 101.325


def halves(p: float, *, below: float, above: float, names: tuple[str, str]) -> str:
    over = p - REST_KPA
    return f"{-over / below:.2f}{names[0]}" if over < 0 else f"{over / above:.2f}{names[1]}"


GAUGES = {
    "inHg under psi": lambda p: halves(
        p, below=INHG_KPA, above=PSI_KPA, names=(" inHg", " psi")),
    "mmHg under kPa": lambda p: halves(
        p, below=MMHG_KPA, above=1.0, names=(" mmHg", " kPa")),
    "signed": lambda p: halves(
        p, below=-INHG_KPA, above=PSI_KPA, names=(" inHg", " psi")),
    "mbar under bar": lambda p: f"{10 * p:.0f} mbar" if p < 100 else f"{p / 100:.3f} bar",
    "two columns": lambda p: (
        f"{max(0.0, REST_KPA - p) / INHG_KPA:.2f} inHg,{max(0.0, p - REST_KPA) / PSI_KPA:.2f} psi"
    ),
}  # fmt: skip


@pytest.mark.parametrize("write", GAUGES.values(), ids=GAUGES.keys())
def test_a_gauge_that_changes_its_unit_gives_the_pressure(write):
    content = lines(lambda s, t, p: f"{clock(s)},{t:.1f},{write(p)}")
    record = read_record(content, "run.csv")
    assert record.pressure_kpa == pytest.approx(P, abs=0.2)
    assert record.units["pressure_zero"] == ("absolute" if "bar" in write(150.0) else "gauge")


def test_temperatures_that_change_their_unit_are_all_read_in_celsius():
    content = lines(
        lambda s, t, p: f"{s},{t if s < 900 else 1.8 * t + 32:.1f} {'CF'[s >= 900]},{p:.1f}"
    )
    assert read_record(content, "run.csv").temperature_c == pytest.approx(T, abs=0.06)


def test_cells_that_lose_their_unit_are_refused_with_their_lines():
    content = lines(lambda s, t, p: f"{clock(s)},{t:.1f},{p:.1f}{' kPa' if s < 1500 else ''}")
    with pytest.raises(CannotTellError, match="lines 151, 152"):
        read_record(content, "run.csv")


@pytest.mark.parametrize("heading", ["", "time,T,pressure [kPa]\n"])
def test_vacuum_without_its_sign_is_asked_about(heading):
    content = lines(lambda s, t, p: f"{clock(s)},{t:.1f},{abs(p - REST_KPA):.1f}", heading)
    with pytest.raises(UnsureLayoutError, match="too cold"):
        read_record(content, "run.csv")


def test_halves_of_a_gauge_without_units_are_refused():
    content = lines(
        lambda s, t, p: f"{clock(s)},{t:.1f},{max(0, REST_KPA - p):.1f},{max(0, p - REST_KPA):.1f}"
    )
    with pytest.raises(CannotTellError, match="vacuum and pressure of one gauge"):
        read_record(content, "run.csv")


HEADING = "time [s],T,p\n"
CHANGED = {
    "psi": (lambda s, t, p: f"{s},{t:.1f},{p / PSI_KPA:.2f}", "psi absolute"),
    "gauge": (lambda s, t, p: f"{s},{t:.1f},{p - REST_KPA:.1f}", "kPa gauge"),
    "fahrenheit": (lambda s, t, p: f"{s},{1.8 * t + 32:.1f},{p:.1f}", "F, kPa absolute"),
    "minutes": (lambda s, t, p: f"{s / 60:.3f},{t:.1f},{p:.1f}", "min would fit"),
    "columns": (lambda s, t, p: f"{s},{p:.1f},{t:.1f}", "temperature in column 3"),
}


@pytest.mark.parametrize(("write", "match"), CHANGED.values(), ids=CHANGED.keys())
def test_a_confirmed_layout_that_the_numbers_deny_is_asked_about(write, match):
    first = lines(lambda s, t, p: f"{s},{t:.1f},{p:.1f}", HEADING)
    layout = Layout.from_record(propose(first, "run.csv").layout.as_record())
    later = lines(write, HEADING)
    assert layout.fits(later, "run.csv")
    with pytest.raises(UnsureLayoutError, match=match):
        read_record(later, "run.csv", layout=layout)


def test_a_confirmed_layout_takes_the_decimal_mark_of_the_file():
    first = lines(lambda s, t, p: f"{s};{t:.1f};{p:.1f}".replace(".", ","), "time [s];T;p\n")
    layout = propose(first, "run.csv").layout
    later = lines(lambda s, t, p: f"{s};{t:.1f};{p:.1f}", "time [s];T;p\n")
    record = read_record(later, "run.csv", layout=layout)
    assert record.temperature_c == pytest.approx(T, abs=0.06)


def test_a_jacket_that_fits_better_is_not_taken_for_a_chamber_that_is_off():
    content = lines(
        lambda s, t, p: f"{s},{t - 20:.1f},{t:.1f},{p:.1f}", "s,Chamber T,Jacket T,kPa abs\n"
    )
    with pytest.raises(UnsureLayoutError):
        read_record(content, "run.csv")


def test_a_temperature_worked_out_by_the_sterilizer_is_not_the_chambers():
    content = lines(
        lambda s, t, p: f"{s},{t:.1f},{t - 1.5:.1f},{p:.1f}",
        "time [s],Theoretical temperature,Temperature,pressure [kPa abs]\n",
    )
    assert read_record(content, "run.csv").columns["temperature"] == 3


def test_what_was_settled_and_makes_no_steam_is_refused_not_asked_again():
    content = lines(lambda s, t, p: f"{clock(s)},{t:.1f},{3.77 * p:.1f}")
    layout = Layout.from_options(columns="pressure=3", units="C,kPa", pressure_zero="absolute")
    with pytest.raises(CannotTellError, match="column 3 holds") as refused:
        read_record(content, "run.csv", layout=layout)
    assert not isinstance(refused.value, UnsureLayoutError)
