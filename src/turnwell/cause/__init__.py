"""Evidence to ranked causes of a failure, and what to look at next.

`table_for` makes one class's table from the catalogue and own cases; `rank` makes the ladder;
`findings_from_readings` turns readings into answers; `probabilities` and `gains` are its parts.
"""

from turnwell.cause.answers import Answers, findings_from_readings
from turnwell.cause.counts import ConfirmedCase, ShopCounts, weight_of_case
from turnwell.cause.ladder import (
    CAUSE_VERSION,
    Answer,
    Evidence,
    Ladder,
    LookNext,
    Outcome,
    Rung,
)
from turnwell.cause.likelihood import probabilities
from turnwell.cause.looknext import Gain, gains
from turnwell.cause.ranking import rank
from turnwell.cause.table import Table, table_for

__all__ = [
    "CAUSE_VERSION",
    "Answer",
    "Answers",
    "ConfirmedCase",
    "Evidence",
    "Gain",
    "Ladder",
    "LookNext",
    "Outcome",
    "Rung",
    "ShopCounts",
    "Table",
    "findings_from_readings",
    "gains",
    "probabilities",
    "rank",
    "table_for",
    "weight_of_case",
]
