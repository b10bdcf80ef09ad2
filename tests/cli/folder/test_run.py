"""A run over many files: what is the same is taken once, and every file keeps its row."""

import json
from functools import partial
from pathlib import Path

from turnwell.cli.folder.pool import Work
from turnwell.cli.folder.row import Row, sha256_of
from turnwell.cli.folder.run import Task, put_through
from turnwell.cli.folder.table import table_csv, table_json

NAMES = ("a.txt", "b.txt", "copy of a.txt", "bad.txt", "copy of bad.txt", "other size.txt")
WORDS = {
    "a.txt": "one",
    "b.txt": "two",
    "copy of a.txt": "one",
    "bad.txt": "bad",
    "copy of bad.txt": "bad",
    "other size.txt": "three",
}


def taken(path: Path, name: str, *, marks: Path) -> Row:
    """Stand in for a command's work, and leave a mark of it."""
    with (marks / "taken").open("a", encoding="utf-8") as file:
        file.write(f"{name}\n")
    if path.read_text(encoding="utf-8") == "bad":
        return Row(file=name, sha256=sha256_of(path), error=f"{name} says nothing")
    return Row(file=name, sha256=sha256_of(path), answered=True)


def written(rows, is_json):
    if is_json:
        return table_json(rows, schema="test/1", version="1", skipped=0, name="files")
    return table_csv(rows, facts={"file": lambda row: row.file}, reading_keys=(), findings={})


def task_of(folder, marks, out):
    for name in NAMES:
        (folder / name).write_text(WORDS[name], encoding="utf-8")
    return Task(
        works=tuple(Work(folder / name, name) for name in NAMES),
        closed=("shut/",),
        skipped=0,
        row_type=Row,
        make_row=partial(taken, marks=marks),
        setting="one",
        table=written,
        summary=lambda rows: f"{len(rows)} files",
        out=out,
        as_json=False,
        jobs=1,
        force=False,
    )


def folders(tmp_path):
    made = tmp_path / "files", tmp_path / "marks"
    for folder in made:
        folder.mkdir()
    return made


def test_the_same_bytes_are_taken_once_and_have_a_row_each(tmp_path, capsys):
    folder, marks = folders(tmp_path)
    out = tmp_path / "table.json"
    assert put_through(task_of(folder, marks, out)) == 0
    rows = {row["file"]: row for row in json.loads(out.read_text(encoding="utf-8"))["files"]}
    assert sorted(rows) == sorted([*NAMES, "shut/"])
    assert rows["copy of a.txt"]["answered"] is True
    assert rows["copy of a.txt"]["sha256"] == rows["a.txt"]["sha256"]
    assert rows["shut/"]["error"] == "the folder cannot be opened"
    names = (marks / "taken").read_text(encoding="utf-8").splitlines()
    assert "copy of a.txt" not in names
    assert "6 of 6" in capsys.readouterr().err


def test_what_went_wrong_names_the_file_itself(tmp_path, capsys):
    folder, marks = folders(tmp_path)
    out = tmp_path / "table.json"
    put_through(task_of(folder, marks, out))
    rows = {row["file"]: row for row in json.loads(out.read_text(encoding="utf-8"))["files"]}
    assert rows["bad.txt"]["error"] == "bad.txt says nothing"
    assert rows["copy of bad.txt"]["error"] == "copy of bad.txt says nothing"


def test_a_copy_adds_no_line_to_the_journal(tmp_path, capsys):
    folder, marks = folders(tmp_path)
    put_through(task_of(folder, marks, tmp_path / "table.json"))
    lines = (tmp_path / "table.json.journal").read_bytes().splitlines()
    assert len(lines) == len({"one", "two", "three"}) + 1


def test_a_file_that_went_away_keeps_its_row(tmp_path, capsys):
    folder, marks = folders(tmp_path)
    task = task_of(folder, marks, tmp_path / "table.json")
    (folder / "b.txt").unlink()
    assert put_through(task) == 0
    rows = json.loads((tmp_path / "table.json").read_text(encoding="utf-8"))["files"]
    (gone,) = [row for row in rows if row["file"] == "b.txt"]
    assert "the program failed on it: FileNotFoundError" in gone["error"]
    assert "Traceback" in capsys.readouterr().err
