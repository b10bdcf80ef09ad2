"""Runs of the command in a session of their own, to be stopped and killed."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path

import pytest

__all__ = ["started", "wait_for_lines", "wait_until_gone"]

# Each answer that is kept takes its time, so that a signal always finds the run at work.
RUN = """
import sys, time
from turnwell.cli.folder.journal import Journal
from turnwell.cli.main import main

def keep_slowly(journal, row, keep=Journal.keep):
    keep(journal, row)
    time.sleep(0.2)

Journal.keep = keep_slowly
sys.exit(main())
"""
LONGEST_S = 30.0


def started(words: Sequence[str]) -> "subprocess.Popen[str]":
    """Start ``turnwell`` with these words; a signal reaches it and its workers alone."""
    return subprocess.Popen(
        [sys.executable, "-c", RUN, *words],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )


def wait_for_lines(path: Path, count: int, process: "subprocess.Popen[str]") -> None:
    """Wait until a journal has so many lines; fails where the run ends before."""
    while not path.exists() or path.read_bytes().count(b"\n") < count:
        assert process.poll() is None, process.communicate()
        time.sleep(0.002)


def wait_until_gone(group: int) -> None:
    """Wait until no process of a session is left; fails when one stays."""
    for _ in range(int(LONGEST_S / 0.01)):
        try:
            os.killpg(group, 0)
        except ProcessLookupError:
            return
        time.sleep(0.01)
    os.killpg(group, signal.SIGKILL)
    pytest.fail("a worker outlived the run that began it")
