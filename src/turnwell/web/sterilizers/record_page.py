"""What the page of a record shows: the sentence first, then readings in groups, what to ask."""

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from turnwell.measure import Reading, Verdict
from turnwell.pictures.figures import grams_less
from turnwell.units import s_to_min
from turnwell.web.sterilizers.analysis.loads import counter_wetness
from turnwell.web.sterilizers.minutes import long_times_in_minutes
from turnwell.web.sterilizers.models import CycleRecord, IssuedReview, Load, StartEntry
from turnwell.words import Message, text_of

__all__ = ["Group", "RecordPage", "record_page_of"]

# Group, and the keys in it in their order; what no group names stands under the last heading.
GROUPS: dict[str, tuple[str, ...]] = {
    "drying": (
        "drying_time_s",
        "drying_lowest_pressure_kpa",
        "drying_below_20_s",
        "drying_below_10_s",
        "drying_pull_down_s",
    ),
    "plateau": (
        "f0_min",
        "f0_temperature_equivalent",
        "lethality_saturated_min",
        "lethality_other_min",
        "time_in_band_s",
        "plateau_temperature_c",
        "plateau_temperature_high_c",
    ),
    "steam": (
        "saturation_difference_k",
        "air_removal_pulses",
        "air_removal_depth_kpa",
        "venting_s",
    ),
    "water": ("condensate_g", "water_left_g"),
}
OTHERS = "others"
# The gravest verdict of a group stands for it.
GRAVITY = (Verdict.OUTSIDE, Verdict.NOT_PROVEN, Verdict.CANNOT_TELL, Verdict.WITHIN)
BROKEN_OFF = "drying_aborted"
SHORTENED = "drying_shortened"


@dataclass(frozen=True, slots=True)
class Group:
    """Readings under one heading.

    Parameters
    ----------
    key, heading : str
    readings : tuple of Reading
    """

    key: str
    heading: str
    readings: tuple[Reading, ...]

    @property
    def verdict(self) -> Verdict | None:
        """The gravest verdict of its readings; None where nothing stands to hold them against."""
        found = {reading.verdict for reading in self.readings if reading.limit is not None}
        return next((verdict for verdict in GRAVITY if verdict in found), None)


@dataclass(frozen=True, slots=True)
class RecordPage:
    """What the page of a record shows beside its fields.

    Parameters
    ----------
    says : str
        The answer, first.
    also : str
        What else the record shows, in one sentence.
    groups : tuple of Group
    load : Load or None
        What lay in the sterilizer, as it stands.
    levers : tuple of str
        What would leave less water with its grams, the first to do first.
    wetness : Reading or None
        How long a damp pouch of the load goes on rusting what is in it.
    advice : str
        What to do with such a pouch; empty where no wetness is known.
    lumen : str
        How long the inside of a lumen stays wet on a counter; empty likewise.
    overtaken_by : CycleRecord or None
        The entry by which it was taken back.
    papers : list of IssuedReview
        Reviews of this run, newest first.
    start : StartEntry or None
        When it began, as a person wrote it down.
    """

    says: str
    also: str
    groups: tuple[Group, ...]
    load: Load | None
    levers: tuple[str, ...]
    wetness: Reading | None
    advice: str
    lumen: str
    overtaken_by: CycleRecord | None
    papers: list[IssuedReview]
    start: StartEntry | None


def record_page_of(record: CycleRecord) -> RecordPage:
    """Give what the page of a record shows."""
    readings = {row.key: row.reading for row in record.readings.all()}
    review: Mapping[str, Any] = record.review or {}
    load = record.loads.standing().select_related("entered_by").first()
    wetness = counter_wetness(review, load, readings.get("water_left_g"))
    return RecordPage(
        says=_first_said(readings.get("drying_time_s"), review),
        also=_faults_said(review),
        groups=tuple(_groups(readings.values())),
        load=load,
        levers=tuple(_levers(review.get("water") or {}, readings.get("water_left_g"))),
        wetness=None if wetness is None else wetness.hours,
        advice="" if wetness is None else text_of(wetness.advice),
        lumen="" if wetness is None else text_of(wetness.lumen),
        overtaken_by=CycleRecord.objects.light().filter(corrects=record).first(),
        papers=list(record.papers.select_related("issued_by")),
        start=None
        if record.clock_shown
        else record.starts.standing().select_related("entered_by").first(),
    )


def _first_said(drying: Reading | None, review: Mapping[str, Any]) -> str:
    """Say first what the office can act on: the gravest fault, then whether drying ran."""
    faults: list[Mapping[str, Any]] = review.get("faults", [])
    planned_s = review.get("cycle", {}).get("dry_s")
    said = _drying_said(drying, planned_s, {fault["key"] for fault in faults})
    # How far a drying that was cut short ran stands in its own sentence.
    if not faults or (faults[0]["key"] == SHORTENED and drying and drying.value is not None):
        return said
    sure = Message(f"sterilizers.sure.{faults[0]['sure']}")
    first = text_of(Message(f"sterilizers.gravest.{faults[0]['key']}", {"sure": sure}))
    return f"{first} {said}"


def _drying_said(
    drying: Reading | None, planned_s: float | None, fault_keys: Collection[str]
) -> str:
    """Say whether drying ran as planned, of the time that was set."""
    if drying is None or drying.value is None:
        return text_of(
            f"sterilizers.drying.{'broken_off' if _is_broken(fault_keys) else 'not_shown'}"
        )
    params: dict[str, str | int | float | Message] = {"minutes": s_to_min(drying.value)}
    if drying.limit is None or drying.limit.low is None:
        key = "broken_off" if _is_broken(fault_keys) else "no_plan"
        return text_of(Message(f"sterilizers.drying.{key}", params))
    # The limit is less than what was set by as much as a record cannot show.
    params["planned"] = s_to_min(planned_s or drying.limit.low)
    keys = {Verdict.OUTSIDE: "cut_short", Verdict.WITHIN: "as_planned"}
    key = keys.get(drying.verdict, "not_proven")
    return text_of(Message(f"sterilizers.drying.{key}", params))


def _is_broken(fault_keys: Collection[str]) -> bool:
    return BROKEN_OFF in fault_keys


def _faults_said(review: Mapping[str, Any]) -> str:
    names = [fault["name"] for fault in review.get("faults", [])]
    if not names:
        return text_of("sterilizers.faults.none") if review else ""
    listed = ", ".join([names[0], *(name[:1].lower() + name[1:] for name in names[1:])])
    key = "one" if len(names) == 1 else "some"
    return text_of(Message(f"sterilizers.faults.{key}", {"count": len(names), "names": listed}))


def _levers(water: Mapping[str, Any], left: Reading | None) -> Iterator[str]:
    """Write each lever with the grams that it saves of what is left."""
    for lever in water.get("levers", []):
        change = str(lever["change"])
        if left is None:
            yield change
        else:
            saved = grams_less(lever["saved_g"], lever["low_g"], lever["high_g"], left=left)
            yield f"{change.rstrip('.')}: {saved}."


def _groups(readings: Iterable[Reading]) -> Iterable[Group]:
    left = {reading.key: long_times_in_minutes(reading) for reading in readings}
    for key, members in GROUPS.items():
        found = tuple(left.pop(member) for member in members if member in left)
        if found:
            yield Group(key, text_of(f"sterilizers.group.{key}"), found)
    if left:
        yield Group(OTHERS, text_of(f"sterilizers.group.{OTHERS}"), tuple(left.values()))
