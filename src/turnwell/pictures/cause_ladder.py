"""The cause ladder: two rails at probability 0 and 1, one rung a cause.

On the page each rung's bar stands beside its evidence; on paper the bars alone are drawn.
"""

from dataclasses import dataclass

from turnwell.errors import InputError
from turnwell.pictures.drawing import Ground, page
from turnwell.pictures.figures import written
from turnwell.words import Message, text_of

__all__ = ["LadderShown", "LookNext", "Rung", "rung_bar"]

# Below this probability a cause stands in the list of the others.
UNLIKELY = 0.03


@dataclass(frozen=True, slots=True)
class Rung:
    """One cause of the ladder.

    Parameters
    ----------
    key, name : str
        The cause.
    probability, low, high : float
        Between 0 and 1, low <= probability <= high.
    evidence_for, evidence_against : tuple of str
        What speaks for it and against it, strongest first.
    caution : str
        What can hurt somebody; empty for nothing.
    """

    key: str
    name: str
    probability: float
    low: float
    high: float
    evidence_for: tuple[str, ...] = ()
    evidence_against: tuple[str, ...] = ()
    caution: str = ""

    def __post_init__(self) -> None:
        if not 0.0 <= self.low <= self.probability <= self.high <= 1.0:
            raise InputError(
                f"{self.key}: {self.low}, {self.probability}, {self.high} must rise from 0 to 1"
            )


@dataclass(frozen=True, slots=True)
class LookNext:
    """One thing worth looking at next."""

    words: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class LadderShown:
    """A ranking of causes in words, as page and paper show it.

    Parameters
    ----------
    says : str
        The answer in one sentence: leading, between two, cannot tell, nothing listed fits.
    leading : int
        How many of the first rungs carry the answer: 1, 2, or 0 when it cannot be told.
    rungs : tuple of Rung
        In order of probability.
    look_next, at_visit : tuple of LookNext
        Best first: at the bench or by asking, and at the next visit.
    note : str
        What a reader must know beside it.
    """

    says: str
    leading: int
    rungs: tuple[Rung, ...]
    look_next: tuple[LookNext, ...] = ()
    at_visit: tuple[LookNext, ...] = ()
    note: str = ""

    def first(self, most: int) -> tuple[Rung, ...]:
        """Give the rungs worth their place: the likely ones, at least two, at most so many."""
        return tuple(
            rung
            for number, rung in enumerate(self.rungs)
            if number < 2 or (number < most and rung.probability >= UNLIKELY)
        )


def rung_bar(rung: Rung, *, leads: bool, ground: Ground | None = None, language: str = "en") -> str:
    """Draw one cause's probability as a bar from rail to rail, its interval as a whisker.

    Returns
    -------
    str
        SVG text.
    """
    ground = ground or page()
    parts = [
        ground.line("axis", 0, 11, 1, 11),
        ground.box("fill-brass" if leads else "fill-soft", 0, 6, rung.probability, 16),
        ground.line("ink-halo", rung.low, 11, rung.high, 11),
        ground.line("ink-line", rung.low, 11, rung.high, 11),
    ]
    for end in (rung.low, rung.high):
        parts.append(ground.line("ink-halo", end, 6, end, 16))
        parts.append(ground.line("ink-line", end, 6, end, 16))
    figures = {
        "probability": written(rung.probability, 2),
        "low": written(rung.low, 2),
        "high": written(rung.high, 2),
    }
    says = text_of(Message("pictures.ladder.rung", figures), language)
    return ground.picture("limitbar", 24, parts, says=says)
