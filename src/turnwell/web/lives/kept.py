"""Answers of this process, kept as long as nothing was written."""

from collections.abc import Callable, Hashable
from dataclasses import dataclass, field
from threading import Lock
from typing import TypeVar, cast

from turnwell.web.lives.records import ShopRecords

__all__ = ["kept_answer"]

Answer = TypeVar("Answer")

# A process forgets all beyond this many, so that a round of 2,000 offices does not fill it.
MOST_KEPT = 512


@dataclass(slots=True)
class _Answers:
    """Answers made from one state of the records."""

    records: ShopRecords | None = None
    found: dict[Hashable, object] = field(default_factory=dict)


_lock = Lock()
_answers = _Answers()


def kept_answer(records: ShopRecords, key: Hashable, make: Callable[[], Answer]) -> Answer:
    """Give the answer of a key, made at most once for one state of the records.

    Parameters
    ----------
    records : ShopRecords
        As `shop_records` gave it: the same object as long as nothing was written.
    key : hashable
        Names the question, and its answer's type with it.
    make : callable
        Makes the answer from these records alone.
    """
    with _lock:
        if _answers.records is not records or len(_answers.found) > MOST_KEPT:
            _answers.records, _answers.found = records, {}
        found = _answers.found.get(key)
    if found is None:
        found = make()
        with _lock:
            if _answers.records is records:
                _answers.found[key] = found
    return cast("Answer", found)
