"""Takes many files on several cores; a worker that dies takes nothing but its own file along.

Workers are started afresh ("spawn"), the only way that is safe beside threads and the same on every
system. Each has at most one file in hand, so that when one dies only the files in hand are in
doubt; these are then tried one by one, each in a worker of its own.
"""

import multiprocessing
import os
import signal
import threading
from collections import deque
from collections.abc import Callable, Generator, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Generic, TypeAlias, TypeVar

from turnwell.cli.folder.row import Row
from turnwell.cli.folder.stop import held_back

__all__ = ["Done", "Work", "done_by_workers"]

# How long a wish to stop may wait to be seen.
_GLANCE_S = 0.2

RowT = TypeVar("RowT", bound=Row)
MakeRow: TypeAlias = Callable[[Path, str], RowT]


@dataclass(frozen=True, slots=True)
class Work:
    """A file to be taken, and what the table calls it."""

    path: Path
    name: str


@dataclass(frozen=True, slots=True)
class Done(Generic[RowT]):
    """What came of a file: its row, or what kept the worker from making one."""

    work: Work
    row: RowT | None
    error: BaseException | None

    @property
    def has_died(self) -> bool:
        """True where the worker ended before it had an answer."""
        return isinstance(self.error, BrokenProcessPool)


def done_by_workers(
    works: Sequence[Work], make_row: MakeRow[RowT], *, jobs: int, is_stopped: Callable[[], bool]
) -> Generator[Done[RowT], None, None]:
    """Give every file's outcome as it comes, in no order.

    Parameters
    ----------
    works : sequence of Work
    make_row : callable
        Makes a row of a path and a name in a worker; can be pickled.
    jobs : int
        Workers at a time, at least 1.
    is_stopped : callable
        Once True no file is begun any more; those begun are finished.
    """
    waiting = deque(works)
    while waiting and not is_stopped():
        in_doubt = yield from _done_until_broken(waiting, make_row, jobs, is_stopped)
        for work in in_doubt:
            if is_stopped():
                return
            yield from _done_alone(work, make_row)


def _done_until_broken(
    waiting: deque[Work], make_row: MakeRow[RowT], jobs: int, is_stopped: Callable[[], bool]
) -> Generator[Done[RowT], None, list[Work]]:
    """Work through the files until all are done, a worker dies or a stop is wanted.

    What a worker's death leaves in doubt is the value of the generator.
    """
    in_doubt: list[Work] = []
    running: dict[Future[RowT], Work] = {}
    with _workers(min(jobs, len(waiting))) as pool:
        while running or (waiting and not is_stopped() and not in_doubt):
            while waiting and len(running) < jobs and not is_stopped() and not in_doubt:
                future = _begun(pool, make_row, waiting[0])
                if future is None:
                    break
                running[future] = waiting.popleft()
            if not running:
                break
            for future in wait(running, _GLANCE_S, FIRST_COMPLETED).done:
                work = running.pop(future)
                done = _done(work, future)
                if done.has_died:
                    in_doubt.append(work)
                else:
                    yield done
    return in_doubt


def _done_alone(work: Work, make_row: MakeRow[RowT]) -> Iterator[Done[RowT]]:
    """Take one file in a worker of its own: if that dies too, it is the file's doing."""
    with _workers(1) as pool:
        with held_back():
            future = pool.submit(make_row, work.path, work.name)
        wait([future])
        yield _done(work, future)


def _begun(pool: ProcessPoolExecutor, make_row: MakeRow[RowT], work: Work) -> Future[RowT] | None:
    """Hand a file to the workers; None where one has died in the meantime."""
    try:
        with held_back():
            return pool.submit(make_row, work.path, work.name)
    except BrokenProcessPool:
        return None


def _done(work: Work, future: Future[RowT]) -> Done[RowT]:
    error = future.exception()
    return Done(work, None if error else future.result(), error)


@contextmanager
def _workers(count: int) -> Iterator[ProcessPoolExecutor]:
    """Give workers that are gone afterwards, whatever happens; those interrupted go at once."""
    others = set(multiprocessing.active_children())
    pool = ProcessPoolExecutor(
        count, mp_context=multiprocessing.get_context("spawn"), initializer=_begin_worker
    )
    try:
        yield pool
    except BaseException:
        for child in set(multiprocessing.active_children()) - others:
            child.terminate()
        raise
    finally:
        pool.shutdown(cancel_futures=True)


def _begin_worker() -> None:
    """Leave Ctrl-C to the process that began this one, and end when that ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    """Wait for the end of the parent: a worker whose parent was killed would wait for ever."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)
