"""A ranking of causes made ready to be shown."""

from collections.abc import Mapping
from typing import Any

from turnwell.catalogue import load
from turnwell.cause import Answer, Evidence, Ladder, LookNext
from turnwell.pictures import LadderShown, Rung
from turnwell.pictures import LookNext as ShownLook
from turnwell.words import Message, text_of

__all__ = ["shown_ladder"]

LEADING = {Answer.LEADING: 1, Answer.BETWEEN: 2}


def shown_ladder(
    ladder: LadderShown | Ladder | Mapping[str, Any], *, language: str = "en"
) -> LadderShown:
    """Put a ranking into words.

    Parameters
    ----------
    ladder : Ladder, mapping or LadderShown
        As the core gave it, as `Ladder.as_record` stored it, or in words already.
    """
    if isinstance(ladder, LadderShown):
        return ladder
    if not isinstance(ladder, Ladder):
        ladder = Ladder.from_record(ladder)
    return LadderShown(
        says=text_of(ladder.wording, language),
        leading=LEADING.get(ladder.answer, 0),
        rungs=tuple(
            Rung(
                rung.key,
                rung.name,
                rung.probability,
                rung.low,
                rung.high,
                tuple(_says(item, language) for item in rung.evidence_for),
                tuple(_says(item, language) for item in rung.evidence_against),
                rung.caution,
            )
            for rung in ladder.rungs
        ),
        look_next=tuple(_look(look, language) for look in ladder.look_next),
        at_visit=tuple(_look(look, language) for look in ladder.look_at_visit),
        note=" ".join(text_of(message, language) for message in ladder.says),
    )


def _says(item: Evidence, language: str) -> str:
    """Give an answer in words; one that nobody gave but the records says where it is from."""
    says = text_of(item.message, language)
    fact = load().findings.get(item.key)
    if fact is None or not fact.from_records:
        return says
    return text_of(Message("cause.evidence.from_records", {"says": says}), language)


def _look(look: LookNext, language: str) -> ShownLook:
    """Give one step with what either answer would change."""
    parts = []
    for key, outcome in (("if_seen", look.if_seen), ("if_not_seen", look.if_not_seen)):
        if outcome is not None:
            params = {"cause": outcome.name, "probability": f"{outcome.probability:.2f}"}
            parts.append(text_of(Message(f"pictures.ladder.{key}", params), language))
    return ShownLook(text_of(look.message, language), " ".join(parts))
