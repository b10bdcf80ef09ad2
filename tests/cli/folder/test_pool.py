"""The workers: one that dies takes its own file along and no other."""

import os
import signal
from functools import partial
from pathlib import Path

import pytest

from turnwell.cli.folder.pool import Work, done_by_workers
from turnwell.cli.folder.row import Row
from turnwell.cli.folder.stop import stop_on_signals

WORKS = [Work(Path(name), name) for name in "abcdefgh"]


def listened(path: Path, name: str, *, marks: Path) -> Row:
    """Stand in for listening: what happens hangs on the name."""
    if name == "d":
        os.kill(os.getpid(), signal.SIGKILL)
    if name == "f" and not (marks / name).exists():
        (marks / name).touch()
        os.kill(os.getpid(), signal.SIGKILL)
    if name == "g":
        raise ZeroDivisionError("a fault of the program")
    return Row(file=name, sha256=str(os.getpid()))


@pytest.fixture(scope="module")
def done(tmp_path_factory):
    listen = partial(listened, marks=tmp_path_factory.mktemp("marks"))
    return {
        done.work.name: done
        for done in done_by_workers(WORKS, listen, jobs=2, is_stopped=lambda: False)
    }


def test_every_file_has_an_outcome(done):
    assert sorted(done) == list("abcdefgh")


def test_the_file_that_kills_its_worker_is_named(done):
    assert [name for name, one in sorted(done.items()) if one.has_died] == ["d"]
    assert done["d"].row is None


def test_a_file_whose_worker_was_killed_once_is_tried_again(done):
    assert done["f"].row == Row(file="f", sha256=done["f"].row.sha256)


def test_a_fault_of_the_program_is_handed_over(done):
    assert isinstance(done["g"].error, ZeroDivisionError)
    assert not done["g"].has_died


def test_no_file_is_listened_to_in_this_process(done):
    workers = {one.row.sha256 for one in done.values() if one.row is not None}
    assert str(os.getpid()) not in workers


def test_after_a_stop_nothing_is_begun(tmp_path):
    listen = partial(listened, marks=tmp_path)
    seen = set()
    outcomes = done_by_workers(WORKS[:3], listen, jobs=1, is_stopped=lambda: "a" in seen)
    seen.add(next(outcomes).work.name)
    assert list(outcomes) == []
    assert seen == {"a"}


def test_the_first_signal_asks_and_the_second_is_obeyed(capsys):
    import sys

    with stop_on_signals(sys.stderr) as stop:
        assert not stop.is_wanted
        os.kill(os.getpid(), signal.SIGINT)
        assert stop.is_wanted
        assert stop.exit_code == 130
        with pytest.raises(KeyboardInterrupt):
            os.kill(os.getpid(), signal.SIGINT)
    assert "once more to stop now" in capsys.readouterr().err


def test_signals_are_as_before_afterwards(capsys):
    import sys

    before = signal.getsignal(signal.SIGINT)
    with stop_on_signals(sys.stderr):
        assert signal.getsignal(signal.SIGINT) is not before
    assert signal.getsignal(signal.SIGINT) is before
