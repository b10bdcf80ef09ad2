"""From a file's bytes to a record, or to what is open about its columns, units and zero."""

from turnwell.steam.reading.layout import Layout
from turnwell.steam.reading.read import propose, read_record
from turnwell.steam.reading.unsure import ColumnGuess, OpenChoice, Proposal, UnsureLayoutError

__all__ = [
    "ColumnGuess",
    "Layout",
    "OpenChoice",
    "Proposal",
    "UnsureLayoutError",
    "propose",
    "read_record",
]
