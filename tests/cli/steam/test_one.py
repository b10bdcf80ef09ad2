"""``turnwell steam FILE``: the answer, its document, a clear refusal of whatever is no record."""

import io
import json
import os
import subprocess
import sys
from io import BytesIO
from pathlib import Path
from xml.etree import ElementTree

import pytest
from jsonschema import Draft202012Validator

from tests.cli.records import CLOSING, csv_of, open_csv, run_of
from turnwell.cli.main import main

SCHEMA = json.loads(
    (Path(__file__).resolve().parents[3] / "docs" / "schema-steam.json").read_text(encoding="utf-8")
)
PLAN = ("--set-c", "134", "--band-k", "4", "--hold-min", "3", "--dry-min", "10")
ALPHABETS = ("ascii", "cp1252", "cp437", "latin-1", "utf-8")
PNG = b"\x89PNG\r\n\x1a\n" + b"\x00" * 100


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    made = tmp_path_factory.mktemp("records")
    (made / "-run é.csv").write_text(csv_of(run_of()), encoding="utf-8")
    (made / "short.csv").write_text(csv_of(run_of(dry_min=3.0)), encoding="utf-8")
    (made / "open.csv").write_text(open_csv(), encoding="utf-8")
    return made


@pytest.fixture(scope="module")
def run(folder):
    return str(folder / "-run é.csv")


def document_of(words, capsys, code=0):
    assert main(["steam", *words, "--json"]) == code
    document = json.loads(capsys.readouterr().out)
    Draft202012Validator(SCHEMA).validate(document)
    return document


def test_the_document_keeps_to_its_schema_and_holds_the_run(run, capsys):
    document = document_of([run, *PLAN], capsys)
    assert document["record"]["rows"] == 1843
    assert document["record"]["columns"] == {"time": 1, "temperature": 2, "pressure": 3}
    readings = {row["key"]: row for row in document["readings"]}
    # 10 minutes from 19:12 to 29:12, as the run was made.
    assert readings["drying_time_s"]["value"] == pytest.approx(600.0, abs=20.0)
    assert readings["drying_time_s"]["verdict"] == "within"
    assert readings["drying_lowest_pressure_kpa"]["value"] == pytest.approx(6.0, abs=0.5)
    assert readings["air_removal_pulses"]["value"] == 3
    assert readings["water_left_g"]["verdict"] == "cannot tell"
    kinds = [stage["kind"] for stage in document["stages"]]
    order = ["air removal", "heating", "plateau", "exhaust", "drying", "air inlet"]
    assert [kind for kind in kinds if kind != "not recognised"] == order
    assert "releases no load" in document["caution"]


def test_drying_cut_short_is_the_first_thing_said(folder, capsys):
    assert main(["steam", str(folder / "short.csv"), *PLAN]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].startswith("Drying did not run as it should: drying cut short")
    assert max(map(len, lines)) <= 80
    assert "releases no load" in " ".join(" ".join(lines[-3:]).split())


def test_what_the_plan_leaves_out_is_held_against_nothing(run, capsys):
    document = document_of([run], capsys)
    readings = {row["key"]: row for row in document["readings"]}
    assert readings["drying_time_s"]["verdict"] == "no limit"
    assert not any(fault["key"] == "drying_shortened" for fault in document["faults"])
    assert document["cycle"]["set_c"] is None


def test_a_cycle_of_the_catalogue_and_values_beside_it(run, capsys):
    cycle = document_of([run, "--cycle", "dynamic_134", "--dry-min", "12"], capsys)["cycle"]
    assert (cycle["set_c"], cycle["hold_s"], cycle["dry_s"]) == (134.0, 180.0, 720.0)
    assert cycle["source"].endswith("as given: drying time")
    assert main(["steam", run, "--cycle", "dynamic_13"]) == 1
    assert "near it: dynamic_13" in capsys.readouterr().err
    assert main(["steam", "--list-cycles"]) == 0
    assert "dynamic_134: 134 °C" in capsys.readouterr().out


def test_another_f_stands_beside_f0(run, capsys):
    document = document_of([run, "--reference-c", "134"], capsys)
    readings = {row["key"]: row["value"] for row in document["readings"]}
    # By definition, 10^((134 - 121.1) / 10) apart.
    assert readings["f0_min"] / readings["lethality_other_min"] == pytest.approx(19.498, rel=0.01)


def test_the_load_makes_the_water_an_answer(run, tmp_path, capsys):
    load = tmp_path / "load.toml"
    load.write_text("pouches = 6\nwater_before_g = 1.0\n[counts]\nturbine = 4\n", encoding="utf-8")
    water = document_of([run, "--load", str(load)], capsys)["water"]
    assert water["condensate"]["value"] > 4.0
    assert water["levers"]
    assert main(["steam", run, "--load", str(load)]) == 0
    assert "What would leave less water" in capsys.readouterr().out
    load.write_text("pouchs = 6\n", encoding="utf-8")
    assert main(["steam", run, "--load", str(load)]) == 1
    assert "'pouchs' is no key of this file" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "kpa"), [(["--altitude", "1000"], 89.87), (["--atmosphere", "95"], 95.0)]
)
def test_the_place_gives_the_atmosphere(run, words, kpa, capsys):
    document = document_of([run, *words], capsys)
    assert document["record"]["atmosphere_kpa"] == pytest.approx(kpa, abs=0.01)


def test_the_bounds_of_the_sensors_make_the_intervals(run, capsys):
    widths = []
    for bound in ("0.1", "1"):
        document = document_of([run, "--temperature-bound-k", bound], capsys)
        f0 = next(row for row in document["readings"] if row["key"] == "f0_min")
        widths.append(f0["high"] - f0["low"])
    assert widths[1] > 5.0 * widths[0]


def test_what_is_open_is_named_with_its_option_and_the_option_closes_it(folder, capsys):
    path = str(folder / "open.csv")
    assert main(["steam", path]) == 3
    printed = capsys.readouterr()
    assert printed.out == ""
    said = " ".join(printed.err.split())
    assert "open.csv leaves open what it means; nothing was guessed" in said
    assert "--columns temperature=N" in said
    assert "0 | " in said, "the first rows are shown"
    assert max(map(len, printed.err.splitlines())) <= 80
    document = document_of([path, *CLOSING, "--pressure-zero", "absolute"], capsys)
    assert document["record"]["columns"] == {"time": 1, "temperature": 2, "pressure": 4}
    low = next(r for r in document["readings"] if r["key"] == "drying_lowest_pressure_kpa")
    assert low["value"] == pytest.approx(6.0, abs=0.6)


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("empty.csv", b""),
        ("picture.csv", PNG),
        ("text.csv", b"Dear office,\nplease call us back.\n"),
        ("zeros.csv", b"\x00" * 5000),
        ("sheet.xlsx", b"PK\x03\x04 and no more"),
    ],
)
def test_what_is_no_record_is_one_clear_line(tmp_path, name, content, capsys):
    path = tmp_path / name
    path.write_bytes(content)
    assert main(["steam", str(path)]) == 1
    printed = capsys.readouterr()
    assert printed.out == ""
    assert printed.err.count("\n") == 1
    assert name in printed.err


def test_a_file_cannot_steer_the_terminal(tmp_path, capsys):
    path = tmp_path / "a\x1b[2Jb.csv"
    path.write_text(f"Time\x1b[31m,a,b,c\n{open_csv()}", encoding="utf-8")
    assert main(["steam", str(path)]) == 3
    assert main(["steam", str(path), *CLOSING, "--pressure-zero", "absolute"]) == 0
    printed = capsys.readouterr()
    assert "\x1b" not in printed.out + printed.err


def test_one_row_is_no_run(tmp_path, capsys):
    path = tmp_path / "one.csv"
    path.write_bytes(b"Time (s),Temperature (C),Pressure (kPa abs)\n0,20.0,101.3\n")
    assert main(["steam", str(path)]) == 3
    printed = capsys.readouterr()
    assert printed.out == ""
    assert "one.csv" in printed.err


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="the system has no pipes with a name")
def test_a_pipe_is_no_record_and_keeps_nobody_waiting(tmp_path, capsys):
    os.mkfifo(tmp_path / "pipe.csv")
    assert main(["steam", str(tmp_path / "pipe.csv")]) == 1
    assert "is no plain file" in capsys.readouterr().err


def test_a_file_that_is_not_there_is_one_line(tmp_path, capsys):
    assert main(["steam", str(tmp_path / "none.csv")]) == 1
    assert capsys.readouterr().err.count("\n") == 1


def test_a_constant_record_has_no_plateau_and_says_so(tmp_path, capsys):
    path = tmp_path / "rest.csv"
    rows = [f"{at},21.0,101.3" for at in range(0, 600, 5)]
    header = "Time (s),Temperature (°C),Pressure (kPa abs)"
    path.write_text("\n".join([header, *rows, ""]), encoding="utf-8")
    assert main(["steam", str(path)]) == 3


@pytest.mark.parametrize("alphabet", ALPHABETS)
def test_any_terminal_can_show_the_lines(run, alphabet, monkeypatch):
    terminal = io.TextIOWrapper(BytesIO(), encoding=alphabet, errors="strict")
    monkeypatch.setattr(sys, "stdout", terminal)
    assert main(["steam", run, *PLAN]) == 0
    terminal.flush()
    shown = terminal.buffer.getvalue().decode(alphabet)
    assert "Stages" in shown
    assert max(map(len, shown.splitlines())) <= 84


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ([], "give a record, several, or a folder"),
        (["run.csv", "--plot", "run.pdf"], "must end in .png or .svg"),
        (["run.csv", "--out", "t.csv"], "--out goes with several records"),
        (["run.csv", "--jobs", "2"], "--jobs goes with several records"),
        (["run.csv", "--z-k", "10"], "--z-k goes with --reference-c"),
        (["run.csv", "--cycle", "a", "--set-c", "134"], "leave one of them out"),
        (["run.csv", "--columns", "time"], "names no column; write time=1"),
        (["run.csv", "--columns", "time=0"], "must lie between 1 and 256"),
        (["run.csv", "--units", "C,furlong"], "'furlong' is no unit"),
        (["run.csv", "--set-c", "-3"], "must be above 0"),
        (["run.csv", "--atmosphere", "95", "--altitude", "100"], "not allowed with"),
        (["run.csv", "--pressure-zero", "other"], "invalid choice"),
        (["a.csv", "b.csv", "--plot", "run.svg"], "--plot goes with one record"),
        (["a.csv", "b.csv", "--out", "t.txt"], "must end in .csv or .json"),
    ],
)
def test_options_that_do_not_fit_are_usage_errors(words, says, capsys):
    with pytest.raises(SystemExit) as caught:
        main(["steam", *words])
    assert caught.value.code == 2
    assert says in capsys.readouterr().err


@pytest.mark.parametrize("words", [["--set-c", "300"], ["--altitude", "99999"]])
def test_values_that_cannot_be_are_one_line(run, words, capsys):
    assert main(["steam", run, *words]) == 1
    assert capsys.readouterr().err.count("\n") == 1


def test_a_name_with_a_dash_comes_after_two_dashes(run, monkeypatch, capsys):
    monkeypatch.chdir(Path(run).parent)
    assert main(["steam", "--json", "--", Path(run).name]) == 0


def test_a_picture_that_cannot_be_written_is_refused_before_the_work(run, tmp_path, capsys):
    (tmp_path / "there.svg").write_text("mine", encoding="utf-8")
    for path in (tmp_path / "there.svg", tmp_path / "no" / "run.svg"):
        assert main(["steam", run, "--plot", str(path)]) == 1
        assert capsys.readouterr().out == ""
    assert (tmp_path / "there.svg").read_text(encoding="utf-8") == "mine"


def test_help_fits_eighty_columns_under_headings(capsys, monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    with pytest.raises(SystemExit) as caught:
        main(["steam", "--help"])
    assert caught.value.code == 0
    lines = capsys.readouterr().out.splitlines()
    assert max(map(len, lines)) <= 80
    assert "what detection leaves open in a file:" in lines


def test_one_record_pays_for_no_catalogue_charts_or_big_library(run):
    asked = (
        "import sys; from turnwell.cli.main import main; "
        f"code = main(['steam', '--json', {run!r}]); "
        "heavy = {'scipy', 'altair', 'vl_convert', 'django', 'python_calamine', "
        "'turnwell.catalogue', 'turnwell.sound', 'multiprocessing'}; "
        "print(code, sorted(heavy & set(sys.modules)), file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True)
    assert done.stderr.strip() == "0 []"


def test_the_picture_shows_the_run(run, tmp_path, capsys):
    path = tmp_path / "run.svg"
    assert main(["steam", run, *PLAN, "--plot", str(path)]) == 0
    words = "".join(ElementTree.parse(path).getroot().itertext())  # noqa: S314  (our own picture)
    for word in ("The run", "plateau", "drying"):
        assert word in words
    assert main(["steam", run, "--plot", str(tmp_path / "run.png")]) == 0
    assert (tmp_path / "run.png").read_bytes().startswith(b"\x89PNG")
