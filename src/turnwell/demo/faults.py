"""What truly ails a handpiece of the invented shop, and what of it can be seen and heard.

The chance that a finding is seen under a fault is the catalogue's own; the sound and the gauges
follow from a few plain rules. Nothing here is a result: all of it is read by the same analysis as
real evidence.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from turnwell.catalogue import Catalogue, Finding
from turnwell.demo.offices import story_of
from turnwell.demo.sounds import Running
from turnwell.web.handpieces.models import Handpiece

__all__ = ["Fault", "fault_of", "looked_for", "running_of", "seen_answers"]

# Share of its speed that a rotor loses, how rough it sounds, and how much sooner it stops.
DRAG: Mapping[str, tuple[float, float, float]] = {
    "debris_baked_in": (0.13, 0.7, 0.55),
    "moisture_corrosion": (0.10, 0.9, 0.6),
    "too_little_lubricant": (0.12, 0.8, 0.5),
    "wrong_or_excess_lubricant": (0.16, 0.2, 0.45),
    "drive_air_wet_or_dirty": (0.11, 0.6, 0.65),
    "drive_pressure_high": (0.03, 0.8, 0.8),
    "exhaust_restricted": (0.17, 0.1, 0.9),
    "unsuitable_bur_or_side_load": (0.06, 0.7, 0.7),
    "overheated_in_sterilizer": (0.12, 0.6, 0.6),
    "last_repair": (0.08, 0.3, 1.3),
    "worn_out": (0.09, 0.6, 0.7),
}
# Causes that pit a raceway, and how loud the balls strike there beside the rotation line.
RING_BLOWS: Mapping[str, float] = {
    "moisture_corrosion": 0.8,
    "drive_pressure_high": 0.5,
    "unsuitable_bur_or_side_load": 0.6,
    "worn_out": 0.4,
}
LOOKED_SHARE = 0.75


@dataclass(frozen=True, slots=True)
class Fault:
    """The true main cause of one stay, and the complaint it led to."""

    cause: str
    complaint: str


def fault_of(
    handpiece: Handpiece, catalogue: Catalogue, rng: np.random.Generator, *, trained: bool
) -> Fault:
    """Draw what is wrong with a handpiece this time.

    Parameters
    ----------
    handpiece : Handpiece
        Its class and its office's habits matter.
    catalogue : Catalogue
        Shares of causes and links to complaints.
    rng : Generator
        What is drawn from.
    trained : bool
        After a training visit the office's habits count no more.
    """
    kind = catalogue.handpiece_class(handpiece.class_key)
    habits = {} if trained else story_of(handpiece.office.name).habit
    shares = {
        cause: share * habits.get(cause, 1.0)
        for cause, share in catalogue.shares[kind.group].items()
        if share > 0.0 and cause not in kind.leaves_out_causes and _is_possible(handpiece, cause)
    }
    cause = _drawn(shares, rng)
    links = catalogue.complaint_links.get(cause, {})
    levels = {key: catalogue.levels[level] for key, level in links.items()}
    return Fault(cause, _drawn(levels, rng) if levels else "other")


def looked_for(handpiece: Handpiece, catalogue: Catalogue) -> tuple[Finding, ...]:
    """Give the short list of findings that are looked for by hand at the bench."""
    return tuple(
        finding
        for finding in catalogue.findings_for(handpiece.class_key)
        if finding.in_short_list
        and finding.stage != "office"
        and finding.reading is None
        and not finding.from_records
        and _is_there(handpiece, finding)
    )


def seen_answers(
    fault: Fault,
    findings: tuple[Finding, ...],
    catalogue: Catalogue,
    rng: np.random.Generator,
) -> dict[str, bool]:
    """Draw what is seen: finding key to seen or not; what is not looked for is left out."""
    answers = {}
    for finding in findings:
        if rng.random() < LOOKED_SHARE:
            level = catalogue.evidence[finding.key].level(fault.cause)
            answers[finding.key] = bool(rng.random() < catalogue.levels[level])
    return answers


def running_of(handpiece: Handpiece, fault: Fault | None, rng: np.random.Generator) -> Running:
    """Give how a handpiece runs on the bench with a fault, or repaired with None."""
    model = handpiece.model
    label_rpm = (model.label_speed_rpm if model else None) or 20_000.0
    if model and model.motor_turns_per_bur_turn:
        label_rpm *= model.motor_turns_per_bur_turn
    lost, rough, coast = DRAG.get(fault.cause, (0.02, 0.1, 1.0)) if fault else (0.0, 0.03, 1.0)
    return Running(
        speed_rpm=label_rpm * (1.0 - lost) * float(rng.normal(1.0, 0.012)),
        rough=rough,
        coast_s=2.2 * coast * float(rng.uniform(0.93, 1.07)),
        ring_blow=RING_BLOWS.get(fault.cause, 0.0) if fault else 0.0,
    )


def _is_possible(handpiece: Handpiece, cause: str) -> bool:
    model = handpiece.model
    if model is None:
        return True
    if cause == "spray_blocked":
        return model.has_spray
    if cause == "light_failed":
        return model.has_light
    return not (cause == "too_little_lubricant" and model.lubricated == "never")


def _is_there(handpiece: Handpiece, finding: Finding) -> bool:
    model = handpiece.model
    if model is None:
        return True
    there = {"spray": model.has_spray, "light": model.has_light}
    return there.get(finding.needs or "", True)


def _drawn(weights: Mapping[str, float], rng: np.random.Generator) -> str:
    keys = list(weights)
    sizes = np.array([weights[key] for key in keys])
    return keys[int(rng.choice(len(keys), p=sizes / sizes.sum()))]
