"""``turnwell steam``: read the records of a sterilizer."""

from turnwell.cli.steam.command import add_to, run

__all__ = ["add_to", "run"]
