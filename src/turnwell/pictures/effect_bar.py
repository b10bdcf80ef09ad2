"""The effect bar: how many returns fewer an action is expected to bring, with its interval."""

from dataclasses import dataclass

from turnwell.errors import InputError
from turnwell.pictures.estimated import Estimated

__all__ = ["ActionShown"]


@dataclass(frozen=True, slots=True)
class ActionShown:
    """One thing the office could change, and what it is expected to bring.

    Parameters
    ----------
    does : str
        What to do, as a sentence.
    note : str
        Who does it and what it costs; may be empty.
    fewer : Estimated or None
        Returns fewer a year in the whole office, >= 0; None where it cannot be told.
    why : str
        What the figure rests on, or why it cannot be told and what would tell it.
    """

    does: str
    note: str = ""
    fewer: Estimated | None = None
    why: str = ""

    def __post_init__(self) -> None:
        if not self.does:
            raise InputError("an action needs a sentence that says what to do")
        if self.fewer is not None and self.fewer.low < 0.0:
            raise InputError(f"{self.does}: the interval begins at {self.fewer.low}, below 0")
        if self.fewer is None and not self.why:
            raise InputError(f"{self.does}: say why its effect cannot be told")
