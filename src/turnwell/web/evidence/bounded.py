"""Does work on received files in processes of their own, within bounds of time and memory.

A decoder given a stranger's file may run for ever, take all memory or break down; here it can only
end its own process, which is replaced. A worker is asked and answers in JSON, one line each way, so
that nothing a broken decoder says is ever run.
"""

import atexit
import json
import os
import subprocess
import sys
from collections.abc import Mapping
from threading import BoundedSemaphore, Lock, Thread, Timer
from typing import Any

from turnwell.errors import InputError, TurnwellError, UnreadableFileError

__all__ = ["BusyError", "OverrunError", "close", "run", "warm"]

WORKERS = 2
MEMORY_BYTES = 2_000_000_000
WAIT_S = 60.0
TASKS_A_WORKER = 200
REFUSALS = {"input": InputError, "unreadable": UnreadableFileError}


class BusyError(TurnwellError):
    """Every worker has been at work for too long."""


class OverrunError(UnreadableFileError):
    """Work on a file went beyond its bounds of time or memory."""


class _Worker:
    """One process that takes a task at a time."""

    def __init__(self, memory_bytes: int = MEMORY_BYTES) -> None:
        environment = {
            name: value for name, value in os.environ.items() if not name.startswith("TURNWELL_")
        }
        # One thread each: a thread pool of the linear algebra takes address space and no work.
        for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
            environment[name] = "1"
        self.tasks = 0
        self.process = subprocess.Popen(
            [sys.executable, "-m", "turnwell.web.evidence.worker", str(memory_bytes)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            env=environment,
            text=True,
            encoding="utf-8",
            creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
        )

    def ask(self, task: str, arguments: Mapping[str, Any], seconds: float) -> Any:
        """Give the answer to a task; the process is gone after an `OverrunError`."""
        if self.process.stdin is None or self.process.stdout is None:
            raise AssertionError("a worker is started with both pipes")
        self.tasks += 1
        timer = Timer(seconds, self.process.kill)
        timer.daemon = True
        timer.start()
        try:
            self.process.stdin.write(json.dumps({"task": task, "arguments": arguments}) + "\n")
            self.process.stdin.flush()
            line = self.process.stdout.readline()
        except OSError:
            line = ""
        finally:
            timer.cancel()
        if not line.endswith("\n"):
            self.end()
            line = json.dumps({"refusal": "overrun", "says": ""})
        return _result(json.loads(line), seconds)

    @property
    def is_fit(self) -> bool:
        """True while it may take another task."""
        return self.process.poll() is None and self.tasks < TASKS_A_WORKER

    def end(self) -> None:
        """Stop the process and wait until it is gone."""
        self.process.kill()
        self.process.wait()
        for pipe in (self.process.stdin, self.process.stdout):
            if pipe is not None:
                try:
                    pipe.close()
                except OSError:
                    continue  # what was not yet sent went with the process


def _result(answer: Mapping[str, Any], seconds: float) -> Any:
    """Give what a worker answered, or raise what it refused with."""
    refusal, says = answer.get("refusal"), answer.get("says", "")
    if refusal is None:
        return answer["result"]
    if refusal == "overrun":
        raise OverrunError(
            f"The file could not be read within {seconds:.0f} seconds and "
            f"{MEMORY_BYTES / 1e9:.0f} GB of memory; send the part that matters"
        )
    if refusal in REFUSALS:
        raise REFUSALS[refusal](says)
    raise RuntimeError(f"a worker failed:\n{says}")


_free = BoundedSemaphore(WORKERS)
_idle: list[_Worker] = []
_lock = Lock()


def run(task: str, *, seconds: float, **arguments: Any) -> Any:
    """Do a task of `turnwell.web.evidence.analysis` in a worker and give its JSON answer.

    Parameters
    ----------
    task : str
        Name of the function.
    seconds : float
        Time it may take; waiting for a free worker comes on top, at most `WAIT_S`.
    **arguments
        JSON values.

    Raises
    ------
    OverrunError
        If it took too long or too much memory.
    BusyError
        If no worker became free.
    InputError, UnreadableFileError
        As the task raised them.
    """
    if not _free.acquire(timeout=WAIT_S):
        raise BusyError(
            "The server is still busy with other files; wait a minute, then send it again."
        )
    try:
        worker = _take()
        try:
            result = worker.ask(task, arguments, seconds)
        except (TurnwellError, RuntimeError):
            _give_back(worker)
            raise
        except BaseException:
            # Broken off between question and answer: the next one must not get this answer.
            worker.end()
            raise
        _give_back(worker)
        return result
    finally:
        _free.release()


def warm() -> None:
    """Start a worker and have it load what it needs, without waiting for it."""
    Thread(target=run, args=("ready",), kwargs={"seconds": 60.0}, daemon=True).start()


def close() -> None:
    """End the idle workers; they start again when they are needed."""
    with _lock:
        workers, _idle[:] = list(_idle), []
    for worker in workers:
        worker.end()


def _take() -> _Worker:
    with _lock:
        worker = _idle.pop() if _idle else None
    if worker is not None and not worker.is_fit:
        worker.end()
        worker = None
    return worker or _Worker()


def _give_back(worker: _Worker) -> None:
    if worker.is_fit:
        with _lock:
            _idle.append(worker)
    else:
        worker.end()


atexit.register(close)
