"""Reads waiting files in a thread of its own, so that nobody waits at the page for them.

One thread a process is enough: the reading itself happens in the bounded worker processes. The
thread ends when nothing waits; it is woken when files arrive and when somebody looks at an intake
that has not come to its end, as after a restart.
"""

import logging
from threading import Lock, Thread

from django.db import connection

from turnwell.web.evidence.bounded import BusyError
from turnwell.web.sterilizers.actions.intake import resume, work_off

__all__ = ["running", "wake"]

_log = logging.getLogger(__name__)
_lock = Lock()
_running: list[Thread] = []


def wake() -> None:
    """Let waiting files be read, if no thread is at it."""
    with _lock:
        if any(thread.is_alive() for thread in _running):
            return
        thread = Thread(target=_work, name="cycle records", daemon=True)
        _running[:] = [thread]
        thread.start()


def running() -> tuple[Thread, ...]:
    """Give the threads at work, to be waited for before the database goes away."""
    with _lock:
        return tuple(thread for thread in _running if thread.is_alive())


def _work() -> None:
    """Read until nothing waits; whatever breaks off is taken up again by the next one woken."""
    try:
        resume()
        while work_off() is not None:
            pass
    except BusyError:
        _log.warning("the processes that read files are busy; waiting cycle records go on later")
    finally:
        connection.close()
