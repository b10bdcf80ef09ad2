"""The table of a folder's recordings as CSV or JSON.

A text cell that begins as a formula does in a spreadsheet gets an apostrophe before it, so that a
file's name can run nothing.
"""

import csv
import json
from collections.abc import Iterator, Sequence
from io import StringIO

import msgspec

from turnwell.cli.listen.row import Row
from turnwell.sound import SOUND_VERSION

__all__ = ["READING_KEYS", "SCHEMA", "folder_csv", "folder_json"]

SCHEMA = "turnwell.listen-folder/1"
# Columns in this order, there or not, so that tables of different folders can be put together.
READING_KEYS = (
    "free_running_speed",
    "speed_heard",
    "drive_speed",
    "speed_wander",
    "coast_down_time",
    "coast_down_half_time",
    "coast_down_deceleration_100",
    "coast_down_deceleration_50",
    "coast_down_deceleration_20",
    "drag_torque",
    "bearing_evidence",
    "roughness",
    "rotation_line_growth",
    "sound_level",
    "noise_dose",
)
_FACTS = ("file", "sha256", "duration_s", "rate_hz", "answered")
_PARTS = ("value", "low", "high", "unit", "verdict")
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def folder_csv(rows: Sequence[Row]) -> str:
    """Write the rows under a header, an empty cell where there is nothing to say."""
    keys = _keys(rows)
    target = StringIO()
    writer = csv.writer(target, lineterminator="\n")
    columns = [f"{key}_{part}" for key in keys for part in _PARTS]
    writer.writerow([*_FACTS, *columns, "gate", "error"])
    writer.writerows([*_cells(row, keys)] for row in rows)
    return target.getvalue()


def folder_json(rows: Sequence[Row], *, skipped: int) -> str:
    """Write the rows as one document of schema ``turnwell.listen-folder/1``."""
    document = {
        "schema": SCHEMA,
        "version": SOUND_VERSION,
        "skipped": skipped,
        "recordings": msgspec.to_builtins(rows),
    }
    return json.dumps(document, allow_nan=False, indent=1) + "\n"


def _keys(rows: Sequence[Row]) -> list[str]:
    """Give the readings that have columns: the known ones, and any that a row has besides."""
    heard = (figure.key for row in rows for figure in row.readings)
    return list(dict.fromkeys((*READING_KEYS, *heard)))


def _cells(row: Row, keys: Sequence[str]) -> Iterator[str | float | None]:
    yield _guarded(row.file)
    yield from (row.sha256, row.duration_s, row.rate_hz, "yes" if row.answered else "no")
    figures = {figure.key: figure for figure in row.readings}
    for key in keys:
        figure = figures.get(key)
        yield from (None if figure is None else getattr(figure, part) for part in _PARTS)
    yield " ".join(row.gate)
    yield _guarded(row.error or "")


def _guarded(text: str) -> str:
    r"""Give a text that no spreadsheet takes for a formula; its carriage returns show as ``\r``.

    The writer would leave them bare, and a reader take them for the end of the row.
    """
    guarded = f"'{text}" if text.startswith(_FORMULA) else text
    return guarded.replace("\r", "\\r")
