"""The effect bar: how many returns fewer an action is expected to bring, with its interval."""

from collections.abc import Sequence
from dataclasses import dataclass

from turnwell.errors import InputError
from turnwell.pictures.bars import whisker_bar
from turnwell.pictures.drawing import Ground, page
from turnwell.pictures.estimated import Estimated
from turnwell.words import Message, text_of

__all__ = ["ActionShown", "EffectWords", "effect_bar", "effect_words", "effects_top"]

MIDDLE = 13.0


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


@dataclass(frozen=True, slots=True)
class EffectWords:
    """An effect as it is written: ``"1.9 fewer a year"``, ``"0.8 to 3.1"``."""

    value: str
    between: str


def effects_top(actions: Sequence[ActionShown]) -> float:
    """Give what the right edge of the bars of some actions stands for: one scale for all."""
    return max((one.fewer.high for one in actions if one.fewer is not None), default=0.0) or 1.0


def effect_bar(
    fewer: Estimated | None, *, top: float, ground: Ground | None = None, language: str = "en"
) -> str:
    """Draw what an action is expected to bring as a bar with its interval.

    Parameters
    ----------
    fewer : Estimated or None
        Returns fewer a year; None for a dotted line: it cannot be told.
    top : float
        `effects_top` of the actions it stands among.
    ground : Ground or None
        `drawing.page` (the default), where the words stand beside it, or `drawing.paper`.
    language : str
        Of its words.

    Returns
    -------
    str
        SVG text.
    """
    ground = ground or page()
    if fewer is None:
        parts = [ground.line("axis dash", 0.0, MIDDLE, 1.0, MIDDLE)]
    else:
        parts = [ground.line("axis", 0.0, MIDDLE, 1.0, MIDDLE)]
        parts += whisker_bar(ground, "fill-brass", fewer, top=top, y=MIDDLE, tall=12.0)
    parts.append(ground.line("ink-line", 0.0, 2.0, 0.0, 24.0))
    words = effect_words(fewer, language=language)
    says = (
        None if ground.is_page else " ".join(part for part in (words.value, words.between) if part)
    )
    return ground.picture("limitbar", 26.0, parts, says=says)


def effect_words(fewer: Estimated | None, *, language: str = "en") -> EffectWords:
    """Write what an action is expected to bring, and its interval; empty where none can be told."""
    if fewer is None:
        return EffectWords(text_of("pictures.effect.untold", language), "")
    decimals = min(max(fewer.decimals, 0), 2)
    low, high = fewer.ends(decimals)
    return EffectWords(
        text_of(Message("pictures.effect.fewer", {"fewer": fewer.says(decimals)}), language),
        text_of(Message("pictures.between", {"low": low, "high": high}), language),
    )
