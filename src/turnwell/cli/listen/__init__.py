"""``turnwell listen``: measure recordings of running handpieces."""

from turnwell.cli.listen.command import add_to, run

__all__ = ["add_to", "run"]
