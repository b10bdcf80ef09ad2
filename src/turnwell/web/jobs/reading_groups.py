"""Readings of a test under plain headings: speed, coast-down, bearings, loudness, by instrument."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from turnwell.measure import Reading
from turnwell.words import text_of

__all__ = ["GroupedReading", "ReadingGroup", "grouped", "is_further", "may_stay_open"]

# Group, and the keys in it in their order; what no group names was measured by hand.
GROUPS: dict[str, tuple[str, ...]] = {
    "speed": ("free_running_speed", "speed_heard", "drive_speed", "speed_wander"),
    "coast_down": (
        "coast_down_time",
        "coast_down_half_time",
        "coast_down_deceleration_100",
        "coast_down_deceleration_50",
        "coast_down_deceleration_20",
    ),
    "condition": ("bearing_evidence", "roughness", "rotation_line_growth"),
    "loudness": ("sound_level", "noise_dose", "noise_level"),
}
BY_HAND = "by_hand"
# Figures for who wants them all: folded away, under those a person acts on.
FURTHER = frozenset(
    {"coast_down_deceleration_100", "coast_down_deceleration_50", "coast_down_deceleration_20"}
)


@dataclass(frozen=True, slots=True)
class GroupedReading:
    """One reading, the earlier one beside it, and whether its reason is said elsewhere.

    Parameters
    ----------
    now : Reading
    before : Reading or None
    is_told : bool
        True where a value's reason stands among the sentences over the readings.
    """

    now: Reading
    before: Reading | None = None
    is_told: bool = False


@dataclass(frozen=True, slots=True)
class ReadingGroup:
    """Readings under one heading: those to act on, and further ones to fold away."""

    heading: str
    first: tuple[GroupedReading, ...]
    further: tuple[GroupedReading, ...] = ()


def grouped(
    pairs: Iterable[tuple[Reading, Reading | None]], told: Sequence[str] = ()
) -> list[ReadingGroup]:
    """Put readings under their headings; groups without any are left out.

    Parameters
    ----------
    pairs : iterable of (Reading, Reading or None)
        A reading, and what it was before.
    told : sequence of str
        Sentences that stand over the readings already.

    Notes
    -----
    Of several readings of one key all stay, in the order given.
    """
    by_group: dict[str, list[GroupedReading]] = {name: [] for name in (*GROUPS, BY_HAND)}
    for now, before in pairs:
        # Where a value is missing, its reason stands in its place.
        is_told = now.value is not None and text_of(now.why) in told
        row = GroupedReading(now, before, is_told)
        by_group[_group_of(now.key)].append(row)
    return [_group(name, rows) for name, rows in by_group.items() if rows]


def is_further(one: Reading) -> bool:
    """Tell whether a reading is for who wants all figures; a limit makes it worth acting on."""
    return one.key in FURTHER and one.limit is None


def may_stay_open(key: str) -> bool:
    """Tell whether "cannot tell" is no shortcoming of the test: more than it was made for.

    A recording is made for the speed; what else it tells is welcome, and says nothing against the
    handpiece where it is missing.

    >>> may_stay_open("roughness"), may_stay_open("free_running_speed")
    (True, False)
    """
    return _group_of(key) in {"coast_down", "condition", "loudness"} or key == "speed_wander"


def _group_of(key: str) -> str:
    return next((name for name, keys in GROUPS.items() if key in keys), BY_HAND)


def _group(name: str, rows: Sequence[GroupedReading]) -> ReadingGroup:
    order = {key: place for place, key in enumerate(GROUPS.get(name, ()))}
    rows = sorted(rows, key=lambda row: order.get(row.now.key, 0))
    further = tuple(row for row in rows if is_further(row.now))
    first = tuple(row for row in rows if row not in further)
    return ReadingGroup(text_of(f"jobs.group.{name}"), first, further)
