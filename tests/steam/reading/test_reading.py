"""Files of many shapes give the values that were written; what is open is asked, never guessed."""

from io import BytesIO

import numpy as np
import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from turnwell.errors import CannotTellError, TurnwellError, UnreadableFileError
from turnwell.steam.reading import Layout, UnsureLayoutError, propose, read_record

# Saturated steam, kPa to °C, of the published steam tables [IAPWS-IF97].
TABLE_KPA = [50.0, 101.325, 150.0, 205.0, 286.0, 304.0, 320.0]
TABLE_C = [81.317, 99.974, 111.350, 120.994, 131.903, 133.978, 135.740]
COUNT = 240
STEP_S = 10


def invented():
    """A run of 40 min: two pulses, a hold of 10 min at 134 °C, drying."""
    at = [0, 0.05, 0.1, 0.14, 0.2, 0.3, 0.56, 0.62, 0.7, 0.93, 1.0]
    kpa = [101.3, 101.3, 15, 160, 15, 305, 305, 105, 8, 6, 101.3]
    p = np.interp(np.linspace(0, 1, COUNT), at, kpa)
    t = np.where(p > 60.0, np.interp(p, TABLE_KPA, TABLE_C), 80.0)
    t[: COUNT // 20] = 30.0
    t[int(0.7 * COUNT) :] = 88.0
    return t, p


T, P = invented()


def clock(seconds: int) -> str:
    return f"{seconds // 3600 % 24:02d}:{seconds // 60 % 60:02d}:{seconds % 60:02d}"


def lines(write, header: str = "") -> bytes:
    rows = [write(STEP_S * i, t, p) for i, (t, p) in enumerate(zip(T, P, strict=True))]
    return (header + "\n".join(rows) + "\n").encode()


PLAIN = lines(lambda s, t, p: f"{s},{t:.1f},{p:.1f}", "time [s],T [°C],pressure [kPa abs]\n")
SHAPES = {
    "plain": PLAIN,
    "no words": lines(lambda s, t, p: f"{s},{t:.1f},{p:.1f}"),
    "german": lines(
        lambda s, t, p: f"{clock(s + 86_000)};{t:.1f};{(p - 101.325) / 100:.3f}".replace(".", ","),
        "Uhrzeit;Temperatur;Druck\n",
    ),
    "fahrenheit, psi": lines(lambda s, t, p: f"{clock(s)}\t{1.8 * t + 32:.1f}\t{p / 6.894757:.2f}"),
    "mercury": lines(lambda s, t, p: f"2024-03-04 {clock(s)},{t:.1f} C,{p / 0.1333224:.0f}"),
    "roll": lines(
        lambda s, t, p: f"{clock(s)}  {t:6.1f} °C  {p:6.1f} kPa", "TIME  TEMPERATURE  PRESSURE\n"
    ),
}


@pytest.mark.parametrize("content", SHAPES.values(), ids=SHAPES.keys())
def test_a_shape_gives_the_values_that_were_written(content: bytes):
    record = read_record(content, "run.csv")
    assert record.time_s == pytest.approx(STEP_S * np.arange(COUNT))
    assert record.temperature_c == pytest.approx(T, abs=0.06)
    assert record.pressure_kpa == pytest.approx(P, abs=0.12)
    assert (record.counts.read, record.counts.kept) == (COUNT, COUNT)


def test_a_confirmed_layout_reads_the_same_and_comes_back_from_storage():
    layout = Layout.from_record(propose(PLAIN, "run.csv").layout.as_record())
    assert layout.fits(PLAIN, "run.csv")
    assert not layout.fits(SHAPES["german"], "run.csv")
    record = read_record(PLAIN, "run.csv", layout=layout)
    assert record.pressure_kpa == pytest.approx(P, abs=0.06)
    with pytest.raises(UnsureLayoutError, match="another shape"):
        read_record(SHAPES["german"], "run.csv", layout=layout)


def test_what_is_given_is_fixed():
    layout = Layout.from_options(units="C,kPa", pressure_zero="gauge")
    record = read_record(SHAPES["no words"], "run.csv", layout=layout)
    assert record.pressure_kpa == pytest.approx(P + 101.325, abs=0.06)


def test_words_that_contradict_the_steam_are_asked_about():
    wrong = PLAIN.replace(b"kPa abs", b"kPa gauge")
    with pytest.raises(UnsureLayoutError, match="--pressure-zero"):
        read_record(wrong, "run.csv")


def test_spoilt_rows_are_counted_and_their_lines_named():
    rows = PLAIN.decode().splitlines()
    spoilt = [*rows[:50], rows[49], "##,##,##", "500,,", *rows[50:80], rows[60], *rows[80:]]
    counts = read_record("\n".join(spoilt).encode(), "run.csv").counts
    assert (counts.kept, counts.duplicate, counts.reversed) == (COUNT, 1, 1)
    assert counts.broken >= 1
    assert 51 in counts.first_broken


def test_two_runs_in_a_file_are_not_taken_for_one():
    later = lines(lambda s, t, p: f"{s + 2400},{t:.1f},{p:.1f}")
    with pytest.raises(CannotTellError, match="2 runs"):
        read_record(PLAIN + later, "run.csv")


def test_a_spreadsheet_is_read_like_text():
    book = openpyxl.Workbook()
    book.active.append(["time [s]", "T [°C]", "pressure [kPa abs]"])
    for i, (t, p) in enumerate(zip(T.tolist(), P.tolist(), strict=True)):
        book.active.append([STEP_S * i, t, p])
    out = BytesIO()
    book.save(out)
    record = read_record(out.getvalue(), "run.xlsx")
    assert record.pressure_kpa == pytest.approx(P, abs=1e-9)


def test_a_sheet_of_far_apart_cells_is_refused_before_it_is_built():
    book = openpyxl.Workbook()
    book.active["A1"], book.active["XFD1048576"] = 1, 2
    out = BytesIO()
    book.save(out)
    with pytest.raises(UnreadableFileError, match="1,048,576 rows"):
        read_record(out.getvalue(), "run.xlsx")


REFUSED = {
    "empty": (b"", "is empty"),
    "picture": (b"\x89PNG\r\n\x1a\n0000", "a picture"),
    "zeros": (b"1,2\x003\n", "zero bytes"),
    "one row": (b"0,20,101\n", "1 row"),
    "words": (b"hello\nworld\n", "no rows"),
    "constant": (b"5,20,101\n" * 50, "no value"),
    "all NaN": (b"0,nan,nan\n" * 50, "no rows"),
    "backwards": (b"".join(b"%d,%d,%d\n" % (9 * (99 - i), 20 + i, 101) for i in range(99)), "back"),
    "10 million rows": (b"1,2\n" * 10_000_000, "lines"),
    "a long line": (b'"' + b"1," * 500_000, "line of"),
    "old binary": (b"\xd0\xcf\x11\xe0" + b"\x00" * 600, "old binary"),
}


@pytest.mark.parametrize(("content", "match"), REFUSED.values(), ids=REFUSED.keys())
def test_bad_input_is_refused_in_one_sentence(content: bytes, match: str):
    with pytest.raises(TurnwellError, match=match):
        read_record(content, "run.csv")


@settings(max_examples=150, deadline=None)
@given(st.binary(max_size=400), st.integers(0, len(PLAIN)), st.integers(0, 300))
def test_a_mutated_file_gives_a_record_or_a_sentence(noise: bytes, at: int, cut: int):
    for content in (noise, PLAIN[:at] + noise + PLAIN[at + cut :]):
        try:
            record = read_record(content, "run.csv")
        except TurnwellError:
            continue
        assert np.all(np.diff(record.time_s) > 0.0)


@pytest.mark.parametrize(
    "above",
    [
        "Temperature in °C, pressure in kPa absolute\nRun 17\n",
        "Units: °C, kPa absolute\nOffice, left room\n",
        "Run 17\n",
    ],
)
@pytest.mark.parametrize("mark", [",", ";"])
def test_words_above_the_whole_table_are_no_part_of_its_headings(above: str, mark: str):
    head = mark.join(["Time", "Temperature", "Pressure"])
    content = lines(
        lambda s, t, p: mark.join([f"{s}", f"{t:.1f}", f"{p:.1f}"]), above + head + "\n"
    )
    proposal = propose(content, "run.csv")
    assert [guess.heading for guess in proposal.columns] == ["Time", "Temperature", "Pressure"]
    assert read_record(content, "run.csv").pressure_kpa == pytest.approx(P, abs=0.06)


def test_a_sheets_title_is_no_heading_and_one_merged_over_two_columns_is():
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.append(["Pressure in kPa, temperature in °C"])
    sheet.append(["", "Chamber", ""])
    sheet.append(["Time", "Temperature", "Pressure"])
    for at, (t, p) in enumerate(zip(T, P, strict=True)):
        sheet.append([STEP_S * at, float(t), float(p)])
    packed = BytesIO()
    book.save(packed)
    headings = [guess.heading for guess in propose(packed.getvalue(), "run.xlsx").columns]
    assert headings == ["Time", "Chamber Temperature", "Chamber Pressure"]


def test_records_in_many_sheets_and_large_files_are_refused_in_true_words():
    book = openpyxl.Workbook()
    for name in ("Monday", "Tuesday"):
        sheet = book.create_sheet(name)
        for at, (t, p) in enumerate(zip(T, P, strict=True)):
            sheet.append([STEP_S * at, float(t), float(p)])
    packed = BytesIO()
    book.save(packed)
    with pytest.raises(CannotTellError, match="in more than one sheet"):
        read_record(packed.getvalue(), "run.xlsx")
    with pytest.raises(UnreadableFileError, match="more than 64 MB"):
        read_record(bytes(64_000_001), "run.csv")
