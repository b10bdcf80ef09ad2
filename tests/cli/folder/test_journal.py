"""The journal of a folder: what is whole counts, what is torn does not."""

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from turnwell.cli.folder.journal import Journal
from turnwell.cli.folder.row import Figure
from turnwell.cli.listen.folder import listening_setting
from turnwell.cli.listen.row import RecordingRow
from turnwell.errors import InputError
from turnwell.sound import Expectation

SETTING = listening_setting(Expectation())
ROWS = [
    RecordingRow(
        file=f"run {number}.wav",
        sha256=f"{number:064x}",
        duration_s=1.0 + number / 3.0,
        rate_hz=48_000.0,
        answered=True,
        readings=(Figure("free_running_speed", 4e5 / 3, 1e5, 2e5, "rpm", "no limit"),),
        gate=("clipped",),
    )
    for number in range(4)
]


def filled(path):
    journal = Journal(path, SETTING, RecordingRow)
    for row in ROWS:
        journal.keep(row)
    return path.read_bytes()


def test_what_is_kept_comes_back_to_the_last_digit(tmp_path):
    filled(tmp_path / "j")
    again = Journal(tmp_path / "j", SETTING, RecordingRow)
    assert [again.row(row.sha256, row.file) for row in ROWS] == ROWS
    assert again.row("f" * 64, "other.wav") is None
    assert again.row(None, "gone.wav") is None


@settings(max_examples=60, deadline=None)
@given(cut=st.integers(0, 10_000))
def test_cut_anywhere_it_loses_one_line_at_most(tmp_path_factory, cut):
    path = tmp_path_factory.mktemp("cut") / "j"
    content = filled(path)
    kept = content[: cut % (len(content) + 1)]
    path.write_bytes(kept)
    journal = Journal(path, SETTING, RecordingRow)
    whole = kept.count(b"\n")
    known = [row for row in ROWS if journal.row(row.sha256, row.file) is not None]
    # A line that lacks nothing but its end is whole too.
    assert known in (ROWS[:whole], ROWS[: whole + 1])
    for row in ROWS:
        journal.keep(row)
    again = Journal(path, SETTING, RecordingRow)
    assert [again.row(row.sha256, row.file) for row in ROWS] == ROWS


def test_an_answer_is_found_under_another_name(tmp_path):
    filled(tmp_path / "j")
    found = Journal(tmp_path / "j", SETTING, RecordingRow).row(ROWS[0].sha256, "moved.wav")
    assert found == msgspec.structs.replace(ROWS[0], file="moved.wav")


def test_other_options_have_other_answers(tmp_path):
    filled(tmp_path / "j")
    other = listening_setting(Expectation(label_speed_rpm=400_000.0))
    assert Journal(tmp_path / "j", other, RecordingRow).is_empty
    assert not Journal(tmp_path / "j", SETTING, RecordingRow).is_empty


def test_what_failed_is_tried_again(tmp_path):
    journal = Journal(tmp_path / "j", SETTING, RecordingRow)
    journal.keep(RecordingRow(file="text.wav", sha256="0" * 64, error="it is no sound"))
    assert journal.is_empty
    assert not (tmp_path / "j").exists()


def test_it_knows_the_tables_it_wrote(tmp_path):
    journal = Journal(tmp_path / "j", SETTING, RecordingRow)
    journal.keep_table(b"first")
    journal.keep_table(b"second")
    again = Journal(tmp_path / "j", SETTING, RecordingRow)
    assert again.wrote(b"first")
    assert again.wrote(b"second")
    assert not again.wrote(b"changed by hand")


def test_a_journal_that_cannot_be_read_or_written_is_refused(tmp_path):
    (tmp_path / "j").mkdir()
    with pytest.raises(InputError, match="j cannot be read"):
        Journal(tmp_path / "j", SETTING, RecordingRow)
    with pytest.raises(InputError, match="j cannot be written"):
        Journal(tmp_path / "no" / "j", SETTING, RecordingRow).keep(ROWS[0])
