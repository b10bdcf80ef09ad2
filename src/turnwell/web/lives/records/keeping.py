"""Keeps the shop's records at hand: in memory for each process, in a file for the next one.

Every question first asks the database for the stamp of its rows; only where it changed are rows
read, and then those that changed. One thread builds while others wait for it.
"""

from dataclasses import dataclass
from datetime import datetime
from math import ceil
from pathlib import Path
from threading import Lock

from django.conf import settings
from django.db import connection

from turnwell.web.lives.records.file import read_file, write_file
from turnwell.web.lives.records.moments import DAY_S
from turnwell.web.lives.records.shop import ShopRecords, records_of
from turnwell.web.lives.records.snapshot import Snapshot, brought_up_to_date, read_snapshot
from turnwell.web.lives.records.stamp import Stamp, stamp_now

__all__ = ["forget", "path_of_file", "shop_records"]

# The file is written again once so many jobs were written since.
WRITES_BETWEEN_FILES = 200


@dataclass(slots=True)
class _Kept:
    """What this process holds, and the stamp of what the file holds."""

    snapshot: Snapshot | None = None
    records: ShopRecords | None = None
    filed: Stamp | None = None


_lock = Lock()
_kept = _Kept()


def shop_records(now: datetime) -> ShopRecords:
    """Give the whole shop's lives and returns.

    Within one day (UTC) and without a write between, the same records are given again, whose
    observation ends at the first question of the day.

    Within a transaction all is read anew and nothing kept, since it may be rolled back: ask before.
    """
    # Moments are read rounded to seconds; what was written just now lies at most at this one.
    now_s = ceil(now.timestamp())
    if _may_be_rolled_back():
        return records_of(read_snapshot(), now_s)
    stamp = stamp_now()
    with _lock:
        if _kept.records is None or not _still_holds(_kept.records, stamp, now_s):
            _kept.records = records_of(_snapshot(stamp), now_s)
        return _kept.records


def forget() -> None:
    """Drop what this process holds; the file stays."""
    with _lock:
        _kept.snapshot = _kept.records = _kept.filed = None


def path_of_file() -> Path:
    """Give the file that the next process begins with."""
    return Path(settings.HOME) / "cache" / "lives" / "records.npz"


def _may_be_rolled_back() -> bool:
    return connection.in_atomic_block


def _still_holds(records: ShopRecords, stamp: Stamp, now_s: int) -> bool:
    same_day = records.now_s // DAY_S == now_s // DAY_S
    return records.stamp == stamp.text and same_day and records.now_s <= now_s


def _snapshot(stamp: Stamp) -> Snapshot:
    """Give the rows as the stamp knows them, or newer."""
    old = _kept.snapshot
    if old is None:
        old = read_file(path_of_file())
        _kept.filed = old.stamp if old is not None else None
    if old is None or old.stamp.database != stamp.database:
        snapshot = read_snapshot(stamp)
    elif old.stamp == stamp:
        snapshot = old
    else:
        snapshot = brought_up_to_date(old, stamp)
    _kept.snapshot = snapshot
    if _is_worth_filing(snapshot):
        write_file(path_of_file(), snapshot)
        _kept.filed = snapshot.stamp
    return snapshot


def _is_worth_filing(snapshot: Snapshot) -> bool:
    if _kept.filed is None or _kept.filed.database != snapshot.stamp.database:
        return True
    return snapshot.stamp.job_versions - _kept.filed.job_versions >= WRITES_BETWEEN_FILES
