"""Shows how far a long run is: a bar on a terminal, a few plain lines anywhere else."""

from collections.abc import Callable
from typing import TextIO

__all__ = ["Progress"]

_BAR = 30
_PLAIN_STEPS = 10


class Progress:
    """How far a run over many files is.

    Parameters
    ----------
    total : int
        Files in all, at least 1.
    stream : text file
        Where it is shown, standard error as a rule.
    clock : callable
        Gives seconds that only rise.
    """

    def __init__(self, total: int, stream: TextIO, clock: Callable[[], float]) -> None:
        self._total = total
        self._stream = stream
        self._clock = clock
        self._began_s = clock()
        self._done = self._given = self._plain_shown = 0
        self._is_terminal = stream.isatty()

    def given(self, count: int) -> None:
        """Count files whose answers were known before; they say nothing about the speed."""
        self._done += count
        self._given += count
        self._show()

    def add(self) -> None:
        """Count one file that has just been taken."""
        self._done += 1
        self._show()

    def close(self) -> None:
        """Leave the line, so that what is printed next has its own."""
        if self._is_terminal:
            print(file=self._stream, flush=True)

    def _show(self) -> None:
        if self._is_terminal:
            print(f"\r{self._bar():<79}", end="", file=self._stream, flush=True)
            return
        step = self._done * _PLAIN_STEPS // self._total
        if step > self._plain_shown:
            self._plain_shown = step
            print(f"{self._done} of {self._total}", file=self._stream, flush=True)

    def _bar(self) -> str:
        full = self._done * _BAR // self._total
        text = f"[{'#' * full}{'.' * (_BAR - full)}] {self._done} of {self._total}"
        taken = self._done - self._given
        if taken == 0 or self._done == self._total:
            return text
        left_s = (self._clock() - self._began_s) / taken * (self._total - self._done)
        return f"{text}, {int(left_s) // 60}:{int(left_s) % 60:02d} left"
