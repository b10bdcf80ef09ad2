"""What the sound of a recording says in plain sentences, read out of its stored document."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from turnwell.pictures import written
from turnwell.words import Message, Param, text_of

__all__ = ["Said", "faults_in", "said_in"]

TOPICS = ("bearing", "growth", "roughness")


@dataclass(frozen=True, slots=True)
class Said:
    """One sentence, and what it is about in a word or two."""

    topic: str
    text: str


def said_in(listening: Mapping[str, Any] | None) -> list[Said]:
    """Give the sentences on the bearing, the rotation line, the roughness and the drag.

    None for a document of a version that judged no condition.
    """
    listening = listening or {}
    condition = listening.get("condition") or {}
    said = [
        Said(text_of(f"jobs.topic.{topic}"), part["why"])
        for topic in TOPICS
        if (part := condition.get(topic))
    ]
    inferred = (listening.get("orders") or {}).get("inferred_bearing")
    if inferred is not None:
        said.append(Said(text_of("jobs.topic.bearing"), _inferred(inferred)))
    why_no_law = [run.get("why_no_law") for run in listening.get("coast_down") or ()]
    # Several runs fail for the same reason mostly: it is said once.
    reasons = dict.fromkeys(why for why in why_no_law if why)
    if all(why_no_law):
        said += [Said(text_of("jobs.topic.coast_down"), why) for why in reasons]
    return said


def _inferred(bearing: Mapping[str, Any]) -> str:
    """Say which bearing the lines fit, where the model gives none."""
    ratio = bearing["ratio"]
    params: dict[str, Param] = {
        "balls": bearing["balls"],
        "chance": written(bearing["balls_chance"], 2),
        "low": written(ratio["low"], 3),
        "high": written(ratio["high"], 3),
    }
    return text_of(Message("jobs.inferred_bearing", params))


def faults_in(listening: Mapping[str, Any] | None) -> list[Said]:
    """Give what is wrong with the recording itself, and which answers that takes away."""
    topic = text_of("jobs.topic.recording")
    return [Said(topic, finding["message"]) for finding in (listening or {}).get("gate") or ()]
