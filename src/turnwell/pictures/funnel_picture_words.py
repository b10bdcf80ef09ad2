"""The funnel picture in words: its text equivalent, and the line under it."""

from collections.abc import Sequence

from turnwell.pictures.figures import written
from turnwell.pictures.funnel_picture import Beyond, FunnelOffice, FunnelPicture
from turnwell.words import Message, Param, text_of

__all__ = ["funnel_picture_caption", "funnel_picture_in_words"]

MOST_NAMED = 6


def funnel_picture_in_words(picture: FunnelPicture, *, language: str = "en") -> str:
    """Say in words what the funnel shows: how many offices, and which lie beyond which limit."""
    target: dict[str, Param] = {
        "offices": len(picture.offices),
        "target": written(picture.target, 2),
    }
    said = [text_of(Message("pictures.funnel.says", target), language)]
    for key, beyond, is_above in (
        ("far_above", Beyond.OF_998, True),
        ("above", Beyond.OF_95, True),
        ("far_below", Beyond.OF_998, False),
        ("below", Beyond.OF_95, False),
    ):
        found = [
            office
            for office in picture.offices
            if office.beyond is beyond and (office.ratio > picture.target) is is_above
        ]
        if found:
            names: dict[str, Param] = {"names": _named(found, language)}
            said.append(text_of(Message(f"pictures.funnel.{key}", names), language))
    if all(office.beyond is Beyond.NEITHER for office in picture.offices):
        said.append(text_of("pictures.funnel.none_beyond", language))
    return " ".join(said)


def funnel_picture_caption(picture: FunnelPicture, *, language: str = "en") -> str:
    """Say how to read the picture."""
    keys = ["caption", "caption_plain" if picture.widened is None else "caption_widened"]
    if any(office.beyond is not Beyond.NEITHER for office in picture.offices):
        keys.append("caption_beyond")
    if any(office.ratio > picture.top for office in picture.offices):
        keys.append("caption_off")
    said = [text_of(f"pictures.funnel.{key}", language) for key in keys]
    if picture.by:
        said.append(text_of(Message("pictures.funnel.caption_by", {"by": picture.by}), language))
    return " ".join(said)


def _named(offices: Sequence[FunnelOffice], language: str) -> str:
    """Name offices with their counts, those furthest from what is expected first."""
    ordered = sorted(offices, key=lambda one: -abs(one.observed - one.expected))
    named = [
        text_of(
            Message(
                "pictures.funnel.office",
                {
                    "name": one.name,
                    "observed": one.observed,
                    "expected": written(one.expected, 1),
                },
            ),
            language,
        )
        for one in ordered[:MOST_NAMED]
    ]
    names = ", ".join(named)
    if len(ordered) <= MOST_NAMED:
        return names
    more: dict[str, Param] = {"names": names, "count": len(ordered) - MOST_NAMED}
    return text_of(Message("pictures.funnel.more", more), language)
