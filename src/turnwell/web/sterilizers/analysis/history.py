"""The records of a sterilizer in time: share with drying cut short, changes, week table."""

from dataclasses import dataclass

from turnwell.web.sterilizers.models import Sterilizer

__all__ = ["History", "history_of"]


@dataclass(frozen=True, slots=True, eq=False)
class History:
    """What the records of a sterilizer say together.

    Parameters
    ----------
    says : tuple of str
        Sentences, the one to act on first.
    """

    says: tuple[str, ...]


def history_of(sterilizer: Sterilizer) -> History:
    """Give what the records of a sterilizer say together."""
    return History(())
