"""The table of a folder's recordings as CSV or JSON."""

from collections.abc import Sequence

from turnwell.cli.folder.table import Columns, table_csv, table_json
from turnwell.cli.listen.row import RecordingRow
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
_FACTS: Columns[RecordingRow] = {
    "file": lambda row: row.file,
    "sha256": lambda row: row.sha256,
    "duration_s": lambda row: row.duration_s,
    "rate_hz": lambda row: row.rate_hz,
    "answered": lambda row: row.answered,
}
_FINDINGS: Columns[RecordingRow] = {
    "gate": lambda row: " ".join(row.gate),
    "error": lambda row: row.error or "",
}


def folder_csv(rows: Sequence[RecordingRow]) -> str:
    """Write the rows under a header, an empty cell where there is nothing to say."""
    return table_csv(rows, facts=_FACTS, reading_keys=READING_KEYS, findings=_FINDINGS)


def folder_json(rows: Sequence[RecordingRow], *, skipped: int) -> str:
    """Write the rows as one document of schema ``turnwell.listen-folder/1``."""
    return table_json(
        rows, schema=SCHEMA, version=SOUND_VERSION, skipped=skipped, name="recordings"
    )
