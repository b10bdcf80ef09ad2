"""``turnwell listen FOLDER``: one table, whatever lies there and however often it was stopped."""

import csv
import json
import os
import signal
from io import StringIO
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from tests.cli.interrupted import started, wait_for_lines, wait_until_gone
from tests.cli.recordings import NAMES, write_many, write_mixed
from turnwell.cli.folder.progress import Progress
from turnwell.cli.folder.row import Figure
from turnwell.cli.folder.search import files_in
from turnwell.cli.listen.endings import ENDINGS
from turnwell.cli.listen.row import RecordingRow, listened_row
from turnwell.cli.listen.table import READING_KEYS, folder_csv, folder_json
from turnwell.cli.main import main
from turnwell.errors import InputError
from turnwell.sound import Expectation

DOCS = Path(__file__).resolve().parents[3] / "docs"
SCHEMA = json.loads((DOCS / "schema-listen-folder.json").read_text(encoding="utf-8"))
LISTEN = json.loads((DOCS / "schema-listen.json").read_text(encoding="utf-8"))
MANY = 60


@pytest.fixture(scope="module")
def mixed(tmp_path_factory):
    folder = tmp_path_factory.mktemp("mixed")
    write_mixed(folder)
    return folder


@pytest.fixture(scope="module")
def tables(mixed, tmp_path_factory):
    """The same folder by one worker as CSV, by two as JSON."""
    out = tmp_path_factory.mktemp("out")
    for name, jobs in (("one.json", "1"), ("two.json", "2")):
        words = ["listen", str(mixed), "--recursive", "--jobs", jobs, "--out", str(out / name)]
        assert main(words) == 0
    return out


@pytest.fixture(scope="module")
def rows(tables):
    document = json.loads((tables / "two.json").read_text(encoding="utf-8"))
    Draft202012Validator(SCHEMA).validate(document)
    assert document["skipped"] == 2
    return {row["file"]: row for row in document["recordings"]}


def test_two_workers_give_the_same_table_as_one(tables):
    assert (tables / "one.json").read_bytes() == (tables / "two.json").read_bytes()


def test_every_recording_has_a_row_in_the_order_of_names(rows):
    expected = {*NAMES, "noise.flac", "text.mp3", "empty.m4a", "below/phone.mp4"}
    assert list(rows) == sorted(expected)


def test_rows_say_what_was_heard(rows):
    for name in (*NAMES, "below/phone.mp4"):
        first = rows[name]["readings"][0]
        assert first["key"] == "free_running_speed"
        assert first["value"] == pytest.approx(390_000.0, rel=1e-3)
        assert rows[name]["answered"] is True
        assert rows[name]["duration_s"] == pytest.approx(0.6, abs=0.05)


def test_a_recording_that_cannot_answer_is_no_error(rows):
    noise = rows["noise.flac"]
    assert (noise["answered"], noise["error"]) == (False, None)
    assert noise["readings"][0]["verdict"] == "cannot tell"
    assert noise["readings"][0]["value"] is None


def test_a_file_that_cannot_be_read_keeps_its_row(rows):
    assert "text.mp3 cannot be read" in rows["text.mp3"]["error"]
    assert "empty.m4a is empty" in rows["empty.m4a"]["error"]
    assert len(rows["text.mp3"]["sha256"]) == 64


def test_csv_goes_to_standard_output_and_words_beside_it(mixed, capsys):
    before = sorted(mixed.rglob("*"))
    assert main(["listen", str(mixed)]) == 0
    printed = capsys.readouterr()
    table = list(csv.DictReader(StringIO(printed.out)))
    assert [row["file"].removeprefix("'") for row in table] == sorted(
        {*NAMES, "noise.flac", "text.mp3", "empty.m4a"}
    )
    plain = next(row for row in table if row["file"] == "a b.wav")
    assert float(plain["free_running_speed_value"]) == pytest.approx(390_000.0, rel=1e-3)
    assert plain["free_running_speed_unit"] == "rpm"
    assert (
        "8 recordings: 5 with a speed, 1 without, 2 not read; other files skipped: 2" in printed.err
    )
    assert "8 of 8" in printed.err
    assert sorted(mixed.rglob("*")) == before, "nothing is written unasked"


def test_stopped_killed_and_torn_it_goes_on_to_the_same_table(tmp_path, capsys):
    folder, out = tmp_path / "many", tmp_path / "table.csv"
    folder.mkdir()
    write_many(folder, MANY, duration_s=0.25)
    journal = tmp_path / "table.csv.journal"

    words = ["listen", str(folder), "--out", str(out), "--jobs", "2"]
    stopped = started(words)
    wait_for_lines(journal, 5, stopped)
    os.killpg(stopped.pid, signal.SIGINT)  # as a terminal does it: to all of them
    said = stopped.communicate()
    assert stopped.returncode == 130
    assert "Traceback" not in said[1]
    assert f"of {MANY}: kept beside" in said[1]
    assert not out.exists()
    kept = journal.read_bytes()

    killed = started(words)
    wait_for_lines(journal, kept.count(b"\n") + 5, killed)
    os.kill(killed.pid, signal.SIGKILL)
    killed.wait()
    wait_until_gone(killed.pid)
    killed.communicate()
    assert not out.exists()
    assert journal.read_bytes().startswith(kept), "it is only ever appended to"
    known = journal.read_bytes().count(b"\n")
    with journal.open("ab") as file:
        file.write(b'{"setting":"torn in the mid')

    assert main(["listen", str(folder), "--out", str(out)]) == 0
    assert f"{MANY} recordings: {MANY // 20} with a speed" in capsys.readouterr().out
    assert journal.read_bytes().count(b"\n") - known == MANY - known + 2
    rows = [listened_row(path, path.name, Expectation()) for path in sorted(folder.iterdir())]
    assert out.read_text(encoding="utf-8") == folder_csv(rows)


def test_hundreds_of_recordings_have_a_row_each(tmp_path, capsys):
    write_many(tmp_path, 200, duration_s=0.05)
    assert main(["listen", str(tmp_path)]) == 0
    table = list(csv.DictReader(StringIO(capsys.readouterr().out)))
    assert [row["file"] for row in table] == [f"run{number:03d}.wav" for number in range(200)]
    assert sum(row["answered"] == "yes" for row in table) == 10
    assert len({row["sha256"] for row in table}) == 200
    assert [row["gate"] for row in table[:2]] == ["", "too_short"]


def test_a_second_run_listens_to_nothing_and_spares_what_a_person_changed(mixed, tables, capsys):
    out = tables / "two.json"
    before, journal = out.read_bytes(), tables / "two.json.journal"
    lines = journal.read_bytes()
    words = ["listen", str(mixed), "--recursive", "--out", str(out)]
    assert main(words) == 0
    assert out.read_bytes() == before
    assert journal.read_bytes() == lines
    out.write_bytes(before + b"a note")
    assert main(words) == 1
    assert "two.json is there already" in capsys.readouterr().err
    assert out.read_bytes() == before + b"a note"
    assert main([*words, "--force"]) == 0
    assert out.read_bytes() == before


@pytest.mark.parametrize(
    ("names", "code"), [(("noise.flac",), 3), (("text.mp3",), 1), (("text.mp3", "noise.flac"), 3)]
)
def test_the_exit_code_says_whether_anything_answered(mixed, tmp_path, names, code, capsys):
    for name in names:
        (tmp_path / name).write_bytes((mixed / name).read_bytes())
    assert main(["listen", str(tmp_path), "--json"]) == code
    document = json.loads(capsys.readouterr().out)
    assert [row["file"] for row in document["recordings"]] == sorted(names)


@pytest.mark.parametrize("other", [(), ("notes.txt", ".hidden.wav")])
def test_a_folder_without_recordings_is_refused(tmp_path, other, capsys):
    for name in other:
        (tmp_path / name).write_bytes(b"x")
    assert main(["listen", str(tmp_path)]) == 1
    printed = capsys.readouterr()
    assert printed.out == ""
    assert printed.err.count("\n") == 1
    assert f"other files skipped: {len(other)}" in printed.err


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--out", "table.txt"], "must end in .csv or .json"),
        (["--out", "table.csv", "--json"], "leave --json out"),
        (["--track", "run.csv"], "--track goes with one recording"),
        (["--plot", "run.svg"], "--plot goes with one recording"),
        (["--jobs", "0"], "give a number from 1"),
        (["--jobs", "many"], "give a number from 1"),
    ],
)
def test_options_that_mean_nothing_are_usage_errors(mixed, words, says, capsys):
    with pytest.raises(SystemExit) as caught:
        main(["listen", str(mixed), *words])
    assert caught.value.code == 2
    assert says in capsys.readouterr().err


def test_a_table_that_cannot_be_written_is_refused_before_the_work(mixed, tmp_path, capsys):
    assert main(["listen", str(mixed), "--out", str(tmp_path / "no" / "table.csv")]) == 1
    assert "make it first" in capsys.readouterr().err
    (tmp_path / "table.csv").mkdir()
    assert main(["listen", str(mixed), "--out", str(tmp_path / "table.csv")]) == 1
    assert "is a folder" in capsys.readouterr().err


def test_links_in_a_circle_are_not_followed(tmp_path):
    (tmp_path / "below").mkdir()
    (tmp_path / "below" / "run.wav").write_bytes(b"")
    (tmp_path / "below" / "up").symlink_to(tmp_path)
    assert files_in(tmp_path, ENDINGS, recursive=True).names == ("below/run.wav",)


def test_a_folder_below_that_is_closed_is_named(tmp_path, monkeypatch):
    below = tmp_path / "below"
    below.mkdir()
    for name in ("run.wav", "a.wav"):
        (tmp_path / name).write_bytes(b"")
    scan = os.scandir

    def closed(path):
        if Path(path) == below:
            raise PermissionError(13, "Permission denied", str(below))
        return scan(path)

    monkeypatch.setattr(os, "scandir", closed)
    found = files_in(tmp_path, ENDINGS, recursive=True)
    assert (found.names, found.unreadable) == (("a.wav", "run.wav"), ("below/",))
    with pytest.raises(InputError, match="cannot be opened"):
        files_in(below, ENDINGS, recursive=False)


def figure(value):
    return Figure("free_running_speed", value, value, value, "rpm", "no limit")


@pytest.mark.parametrize("name", ["=1+2", "+1", "-run", "@sum", "\tx", "\rx"])
def test_no_text_cell_is_a_formula(name):
    (row,) = csv.DictReader(
        StringIO(folder_csv([RecordingRow(file=name, error=f"{name} is no sound")]))
    )
    assert row["file"] == f"'{name}".replace("\r", "\\r")
    assert row["error"].startswith("'")


def test_numbers_are_not_guarded():
    row = RecordingRow(file="run.wav", readings=(figure(-3.5),))
    assert ",-3.5," in folder_csv([row])


def test_columns_do_not_hang_on_the_folder():
    assert folder_csv([]).strip() == folder_csv([RecordingRow(file="a.wav")]).splitlines()[0]
    assert set(READING_KEYS) >= set(LISTEN["$defs"]["reading"]["properties"]["key"]["enum"])


def test_a_reading_of_later_versions_gets_its_column():
    later = Figure("later", 1.0, 1.0, 1.0, "s", "no limit")
    assert "later_value" in folder_csv([RecordingRow(file="a.wav", readings=(later,))])


def test_a_name_in_no_alphabet_is_written():
    name = os.fsdecode(b"\xff.wav")
    Draft202012Validator(SCHEMA).validate(
        json.loads(folder_json([RecordingRow(file=name)], skipped=0))
    )
    assert folder_csv([RecordingRow(file=name)]).encode("utf-8", "backslashreplace")


class Terminal(StringIO):
    def isatty(self):
        return True


def test_a_terminal_gets_a_bar_with_the_time_left():
    clock = iter([0.0, 2.0, 4.0, 6.0])
    shown = Terminal()
    progress = Progress(4, shown, lambda: next(clock))
    progress.given(1)
    progress.add()
    progress.add()
    progress.add()
    progress.close()
    states = [state.rstrip() for state in shown.getvalue().split("\r")[1:]]
    assert states[0] == f"[{'#' * 7}{'.' * 23}] 1 of 4"
    assert states[1] == f"[{'#' * 15}{'.' * 15}] 2 of 4, 0:04 left"
    assert states[2] == f"[{'#' * 22}{'.' * 8}] 3 of 4, 0:02 left"
    assert states[3] == f"[{'#' * 30}] 4 of 4"
    assert all(len(state) < 80 for state in states)


def test_a_file_gets_ten_plain_lines_at_most():
    shown = StringIO()
    progress = Progress(1_000, shown, lambda: 0.0)
    for _ in range(1_000):
        progress.add()
    progress.close()
    assert shown.getvalue().splitlines() == [f"{n} of 1000" for n in range(100, 1_001, 100)]
