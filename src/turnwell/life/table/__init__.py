"""From a file of lives or returns to what the methods work on; every refusal names row and column.

Nothing is half read: a table is taken as a whole, or a sentence says what to correct.
"""

from turnwell.life.table.lives_table import LivesTable
from turnwell.life.table.read import read_table
from turnwell.life.table.returns_table import ReturnsTable

__all__ = ["LivesTable", "ReturnsTable", "read_table"]
