"""The process that works on received files: ``python -m turnwell.web.evidence.worker BYTES``.

Reads one task a line from standard input and writes one answer a line, until the input ends.
"""

import json
import sys
import traceback
from typing import Any

from turnwell.errors import InputError, UnreadableFileError

__all__ = ["main"]


def main() -> None:
    """Bound the memory, then answer tasks until there are no more."""
    _bound_memory(int(sys.argv[1]))
    answers = sys.stdout
    # Whatever a library prints goes to the log, never between the answers.
    sys.stdout = sys.stderr
    for line in sys.stdin:
        answers.write(json.dumps(_answer(json.loads(line)), allow_nan=False) + "\n")
        answers.flush()


def _answer(asked: dict[str, Any]) -> dict[str, Any]:
    """Do one task; whatever goes wrong is an answer too, so that the caller can say it."""
    from turnwell.web.evidence import analysis

    try:
        return {"result": analysis.TASKS[asked["task"]](**asked["arguments"])}
    except UnreadableFileError as error:
        return {"refusal": "unreadable", "says": str(error)}
    except InputError as error:
        return {"refusal": "input", "says": str(error)}
    except MemoryError:
        return {"refusal": "overrun"}
    except Exception:  # a bug: the caller raises it again with this traceback
        return {"refusal": "bug", "says": traceback.format_exc()}


def _bound_memory(most_bytes: int) -> None:
    """Bound the address space where the system can; elsewhere the bounds on a file's size hold."""
    try:
        import resource
    except ImportError:
        return
    resource.setrlimit(resource.RLIMIT_AS, (most_bytes, most_bytes))


if __name__ == "__main__":
    main()
