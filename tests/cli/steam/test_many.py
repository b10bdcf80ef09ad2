"""``turnwell steam FOLDER``: one table, whatever lies there and however often it was stopped."""

import csv
import json
import os
import signal
from io import StringIO
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from tests.cli.interrupted import started, wait_for_lines, wait_until_gone
from tests.cli.records import CLOSING, csv_of, open_csv, run_of, write_records
from turnwell.cli.main import main
from turnwell.cli.steam.row import RecordRow
from turnwell.cli.steam.table import READING_KEYS, records_csv, with_copies

SCHEMA = json.loads(
    (Path(__file__).resolve().parents[3] / "docs" / "schema-steam-folder.json").read_text(
        encoding="utf-8"
    )
)
MANY = 40


@pytest.fixture(scope="module")
def mixed(tmp_path_factory):
    folder = tmp_path_factory.mktemp("mixed")
    write_records(folder, 4)
    (folder / "=1+2.csv").write_bytes((folder / "run0001.csv").read_bytes())
    (folder / "picture.csv").write_bytes(b"\x89PNG\r\n\x1a\n" + b"\x00" * 100)
    (folder / "empty.txt").write_bytes(b"")
    (folder / "notes.pdf").write_bytes(b"no record by its name")
    (folder / "open.csv").write_text(open_csv(), encoding="utf-8")
    (folder / "below").mkdir()
    (folder / "below" / "later.csv").write_text(csv_of(run_of(seed=9)), encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def rows(mixed, tmp_path_factory):
    out = tmp_path_factory.mktemp("out")
    tables = []
    for name, jobs in (("one.json", "1"), ("two.json", "2")):
        words = ["--recursive", "--jobs", jobs, "--out", str(out / name), "--dry-min", "10"]
        assert main(["steam", str(mixed), *words]) == 0
        tables.append((out / name).read_bytes())
    assert tables[0] == tables[1], "two workers give the same table as one"
    document = json.loads(tables[0])
    Draft202012Validator(SCHEMA).validate(document)
    assert document["skipped"] == 1
    return {row["file"]: row for row in document["records"]}


def test_every_record_has_a_row_in_the_order_of_names(rows):
    expected = [f"run000{number}.csv" for number in range(4)]
    expected += ["=1+2.csv", "picture.csv", "empty.txt", "open.csv", "below/later.csv"]
    assert list(rows) == sorted(expected)


def test_rows_say_what_was_read(rows):
    for number in range(4):
        row = rows[f"run000{number}.csv"]
        readings = {figure["key"]: figure for figure in row["readings"]}
        assert row["answered"] is True
        assert ("drying_shortened" in row["faults"]) == (number == 0)
        planned = 180.0 if number == 0 else 600.0
        assert readings["drying_time_s"]["value"] == pytest.approx(planned, abs=20.0)


def test_a_copy_is_named_so_that_no_run_counts_twice(rows):
    assert rows["run0001.csv"]["same_as"] == "=1+2.csv"
    assert rows["=1+2.csv"]["same_as"] is None
    assert rows["run0001.csv"]["readings"] == rows["=1+2.csv"]["readings"]


def test_what_is_no_record_keeps_its_row_and_what_is_open_is_no_error(rows):
    assert "picture.csv is a picture" in rows["picture.csv"]["error"]
    assert "empty.txt is empty" in rows["empty.txt"]["error"]
    assert rows["open.csv"]["error"] is None
    assert "--" in rows["open.csv"]["choice"]
    assert rows["open.csv"]["answered"] is False


def test_csv_goes_to_standard_output_and_words_beside_it(mixed, capsys):
    before = sorted(mixed.rglob("*"))
    assert main(["steam", str(mixed), "--dry-min", "10"]) == 0
    printed = capsys.readouterr()
    table = list(csv.DictReader(StringIO(printed.out)))
    assert table[0]["file"] == "'=1+2.csv"
    assert table[-1]["file"] == "run0003.csv"
    assert float(table[-1]["drying_time_s_value"]) == pytest.approx(600.0, abs=20.0)
    assert "8 records: 5 with a plateau, 0 without, 1 left open, 2 not read, 1 the same" in (
        printed.err
    )
    assert "drying cut short in 1; other files skipped: 1" in printed.err
    assert sorted(mixed.rglob("*")) == before, "nothing is written unasked"


def test_several_files_and_folders_are_called_as_they_were_given(mixed, monkeypatch, capsys):
    monkeypatch.chdir(mixed)
    words = ["run0001.csv", "below", "run0001.csv", "none.csv", "--json"]
    assert main(["steam", *words]) == 0
    document = json.loads(capsys.readouterr().out)
    assert [row["file"] for row in document["records"]] == [
        "below/later.csv",
        "none.csv",
        "run0001.csv",
    ]
    assert "cannot be read" in document["records"][1]["error"]


def test_an_option_closes_what_was_left_open(mixed, tmp_path, capsys):
    out = str(tmp_path / "table.json")
    one = [str(mixed / "open.csv"), str(mixed / "open.csv") + "x", "--out", out]
    assert main(["steam", *one]) == 3
    closed = [*one, *CLOSING, "--pressure-zero", "absolute"]
    assert main(["steam", *closed]) == 0
    rows = json.loads(Path(out).read_text(encoding="utf-8"))["records"]
    assert [row["answered"] for row in rows] == [True, False]


def test_stopped_killed_and_torn_it_goes_on_to_the_same_table(tmp_path, capsys):
    folder, out = tmp_path / "many", tmp_path / "table.csv"
    folder.mkdir()
    write_records(folder, MANY)
    journal = tmp_path / "table.csv.journal"

    words = ["steam", str(folder), "--out", str(out), "--jobs", "1"]
    stopped = started(words)
    wait_for_lines(journal, 3, stopped)
    os.killpg(stopped.pid, signal.SIGINT)  # as a terminal does it: to all of them
    said = stopped.communicate()
    assert stopped.returncode == 130
    assert "Traceback" not in said[1]
    assert f"of {MANY}: kept beside" in said[1]
    assert not out.exists()
    kept = journal.read_bytes()

    killed = started(words)
    wait_for_lines(journal, kept.count(b"\n") + 2, killed)
    os.kill(killed.pid, signal.SIGKILL)
    killed.communicate()
    wait_until_gone(killed.pid)
    assert not out.exists()
    assert journal.read_bytes().startswith(kept), "it is only ever appended to"
    known = journal.read_bytes().count(b"\n")
    assert known < MANY
    with journal.open("ab") as file:
        file.write(b'{"setting":"torn in the mid')

    assert main(["steam", str(folder), "--out", str(out), "--jobs", "2"]) == 0
    assert journal.read_bytes().count(b"\n") - known == MANY - known + 2, "what is known is kept"
    assert main(["steam", str(folder), "--out", str(tmp_path / "fresh.csv")]) == 0
    assert (tmp_path / "fresh.csv").read_bytes() == out.read_bytes()
    capsys.readouterr()


@pytest.mark.parametrize("other", [(), ("notes.pdf", ".hidden.csv")])
def test_a_folder_without_records_is_refused(tmp_path, other, capsys):
    for name in other:
        (tmp_path / name).write_bytes(b"x")
    assert main(["steam", str(tmp_path)]) == 1
    printed = capsys.readouterr()
    assert printed.out == ""
    assert printed.err.count("\n") == 1
    assert f"other files skipped: {len(other)}" in printed.err


def test_where_no_file_can_be_read_it_is_bad_input(tmp_path, capsys):
    (tmp_path / "picture.csv").write_bytes(b"\x89PNG\r\n\x1a\n" + b"\x00" * 100)
    assert main(["steam", str(tmp_path)]) == 1


def test_a_table_that_cannot_be_written_is_refused_before_the_work(mixed, tmp_path, capsys):
    assert main(["steam", str(mixed), "--out", str(tmp_path / "no" / "table.csv")]) == 1
    assert "make it first" in capsys.readouterr().err


def test_columns_do_not_hang_on_the_folder():
    header = records_csv([]).strip().split(",")
    assert header == records_csv([RecordRow(file="a.csv")]).splitlines()[0].split(",")
    assert all(f"{key}_value" in header for key in READING_KEYS)


def test_files_that_could_not_be_read_are_no_copies_of_each_other():
    marked = with_copies([RecordRow(file="a.csv"), RecordRow(file="b.csv")])
    assert [row.same_as for row in marked] == [None, None]
