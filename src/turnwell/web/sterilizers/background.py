"""Reads waiting files in a thread of its own, so that nobody waits at the page for them.

One thread a process is enough: the reading itself happens in the bounded worker processes. The
thread ends when nothing waits; it is woken when files arrive and, after a restart, by the first
page of a sterilizer that somebody opens.
"""

import logging
from threading import Lock, Thread, current_thread

from django.db import connection, transaction

from turnwell.web.evidence.bounded import BusyError
from turnwell.web.sterilizers.actions.intake import resume, work_off
from turnwell.web.sterilizers.models import IntakeFile

__all__ = ["go_on", "running", "wake"]

_log = logging.getLogger(__name__)
_lock = Lock()
# Who takes the next file, at most one; and all that have not ended, that one among them.
_at_work: set[Thread] = set()
_alive: set[Thread] = set()


def wake() -> None:
    """Let waiting files be read, if no thread is at it."""
    with _lock:
        if _at_work:
            return
        thread = Thread(target=_work, name="cycle records", daemon=True)
        _at_work.add(thread)
        _alive.add(thread)
        thread.start()


def go_on() -> None:
    """Let reading go on where files wait, or a stopped server left them; called by pages.

    Within a transaction it waits for its end, so that the reader sees what was written.
    """
    unfinished = (IntakeFile.State.WAITING, IntakeFile.State.READING)
    if IntakeFile.objects.filter(state__in=unfinished).exists():
        transaction.on_commit(wake)


def running() -> tuple[Thread, ...]:
    """Give the threads that have not ended, to be waited for before the database goes away."""
    with _lock:
        return tuple(_alive)


def _work() -> None:
    """Read until nothing waits; whatever breaks off is taken up again by the next one woken."""
    try:
        resume()
        while not _is_over():
            while work_off() is not None:
                pass
    except BusyError:
        _log.warning("the processes that read files are busy; waiting cycle records go on later")
    finally:
        with _lock:
            _at_work.discard(current_thread())
        connection.close()
        with _lock:
            _alive.discard(current_thread())


def _is_over() -> bool:
    """Lay the work down if nothing waits; under the lock, so that no file comes in between."""
    with _lock:
        if IntakeFile.objects.filter(state=IntakeFile.State.WAITING).exists():
            return False
        _at_work.discard(current_thread())
        return True
