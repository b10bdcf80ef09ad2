"""Turns the first Ctrl-C into a wish to stop, so that nothing that is done is lost."""

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType
from typing import TextIO

__all__ = ["Stop", "held_back", "stop_on_signals"]

_SIGNALS = (signal.SIGINT, signal.SIGTERM)


class Stop:
    """Whether a run was asked to stop, and by which signal."""

    def __init__(self) -> None:
        self.signal: int | None = None

    @property
    def is_wanted(self) -> bool:
        """True once a signal has come."""
        return self.signal is not None

    @property
    def exit_code(self) -> int:
        """Exit code as shells have it: 130 after Ctrl-C."""
        return 128 + (self.signal or 0)


@contextmanager
def stop_on_signals(stream: TextIO) -> Iterator[Stop]:
    """Watch for Ctrl-C and for being told to end; the second time it is not asked but obeyed.

    Parameters
    ----------
    stream : text file
        Is told that the wish was heard.
    """
    stop = Stop()

    def ask(number: int, frame: FrameType | None) -> None:  # noqa: ARG001  (a handler's form)
        stop.signal = number
        for other, before in earlier.items():
            signal.signal(other, before)
        print("\nStopping after the files begun; once more to stop now.", file=stream, flush=True)

    earlier = {}
    # Only the main thread of a program may be asked; any other runs to its end.
    if threading.current_thread() is threading.main_thread():
        earlier = {number: signal.signal(number, ask) for number in _SIGNALS}
    try:
        yield stop
    finally:
        for number, before in earlier.items():
            signal.signal(number, before)


@contextmanager
def held_back() -> Iterator[None]:
    """Hold Ctrl-C back for a moment, also from processes begun in it, which never get it.

    Where a system has no such thing nothing is held back.
    """
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
