"""The table of many records as CSV or JSON."""

from collections.abc import Sequence

import msgspec

from turnwell.cli.folder.table import Columns, table_csv, table_json
from turnwell.cli.steam.row import RecordRow
from turnwell.steam.version import STEAM_VERSION

__all__ = ["READING_KEYS", "SCHEMA", "records_csv", "records_json", "with_copies"]

SCHEMA = "turnwell.steam-folder/1"
# Columns in this order, there or not, so that tables of different folders can be put together.
READING_KEYS = (
    "f0_min",
    "time_in_band_s",
    "plateau_temperature_c",
    "plateau_temperature_high_c",
    "saturation_difference_k",
    "lethality_saturated_min",
    "lethality_other_min",
    "air_removal_pulses",
    "air_removal_depth_kpa",
    "drying_time_s",
    "drying_lowest_pressure_kpa",
    "drying_below_20_s",
    "drying_below_10_s",
    "drying_pull_down_s",
    "condensate_g",
    "water_left_g",
)
_FACTS: Columns[RecordRow] = {
    "file": lambda row: row.file,
    "sha256": lambda row: row.sha256,
    "same_as": lambda row: row.same_as,
    "started_at": lambda row: row.started_at,
    "rows": lambda row: row.rows,
    "duration_s": lambda row: row.duration_s,
    "interval_s": lambda row: row.interval_s,
    "answered": lambda row: row.answered,
}
_FINDINGS: Columns[RecordRow] = {
    "ending": lambda row: row.ending,
    "faults": lambda row: " ".join(row.faults),
    "choice": lambda row: row.choice,
    "error": lambda row: row.error,
}


def records_csv(rows: Sequence[RecordRow]) -> str:
    """Write the rows under a header, an empty cell where there is nothing to say."""
    return table_csv(with_copies(rows), facts=_FACTS, reading_keys=READING_KEYS, findings=_FINDINGS)


def records_json(rows: Sequence[RecordRow], *, skipped: int) -> str:
    """Write the rows as one document of schema ``turnwell.steam-folder/1``."""
    return table_json(
        with_copies(rows), schema=SCHEMA, version=STEAM_VERSION, skipped=skipped, name="records"
    )


def with_copies(rows: Sequence[RecordRow]) -> list[RecordRow]:
    """Name for every copy the first file with the same bytes, so that no run is counted twice."""
    first: dict[str, str] = {}
    marked = []
    for row in rows:
        original = row.file if row.sha256 is None else first.setdefault(row.sha256, row.file)
        same_as = None if original == row.file else original
        marked.append(msgspec.structs.replace(row, same_as=same_as))
    return marked
