"""``turnwell lives``: read a table of lives or returns."""

from turnwell.cli.lives.command import add_to, run

__all__ = ["add_to", "run"]
