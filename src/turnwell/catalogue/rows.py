"""The rows of the catalogue: what each entry of its files holds.

Every row is frozen; a field that an entry leaves out has the default given here. Keys are the
entries' names in the files and the only thing another room stores.
"""

from collections.abc import Mapping
from typing import Annotated, Literal, TypeAlias

import msgspec

from turnwell.measure import Basis

__all__ = [
    "Bearing",
    "CareStep",
    "Cause",
    "ClassLimit",
    "Complaint",
    "Effect",
    "Evidence",
    "FeedWaterLimit",
    "Finding",
    "FindingReading",
    "Group",
    "HandpieceClass",
    "HandpieceGroup",
    "Level",
    "LoadPiece",
    "Need",
    "Pace",
    "RelativeLimit",
    "Source",
    "Stage",
    "SteamCycle",
]

HandpieceGroup: TypeAlias = Literal["turbine", "motor", "attachment", "coupler"]
Level: TypeAlias = Literal["rare", "seldom", "sometimes", "often", "always"]
Stage: TypeAlias = Literal["as received", "torn down", "office"]
Need: TypeAlias = Literal["spray", "light", "gears", "lubrication"]
Lubricated: TypeAlias = Literal["yes", "never", "not known"]

Text: TypeAlias = Annotated[str, msgspec.Meta(min_length=1)]
Positive: TypeAlias = Annotated[float, msgspec.Meta(gt=0)]
Fraction: TypeAlias = Annotated[float, msgspec.Meta(gt=0, lt=1)]

DAYS_A_YEAR = 365.25


class Row(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """What all rows share: unknown keys in a file are refused."""

    key: str


class Source(Row, frozen=True):
    """Where a fact is written down, and whether that was read."""

    title: Text
    authors: str
    where: Text
    basis: Basis
    year: int | None = None


class ClassLimit(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A default limit of a class, in the unit given; at least one side is given."""

    reading_key: Text
    unit: Text
    source: str
    basis: Basis
    low: float | None = None
    high: float | None = None
    note: str = ""


class RelativeLimit(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A default limit that hangs on a model's own figure: within ± tolerance of it."""

    reading_key: Text
    of: Text
    tolerance: Fraction
    source: str
    basis: Basis
    note: str = ""


class HandpieceClass(Row, frozen=True):
    """A generic kind of handpiece.

    `speed_range_rpm` is the usual range at the place named by `speed_at` (the bur, or the motor's
    shaft); None for what does not turn. `motor_turns_per_bur_turn` is 1 where nothing is geared and
    None where the class alone does not say.
    """

    name: Text
    group: HandpieceGroup
    drive: Text
    coupling: Text
    geared: bool
    lubrication_common: Literal["yes", "never", "varies"]
    has_chuck: bool
    can_have_spray: bool
    can_have_light: bool
    speed_range_rpm: tuple[Positive, Positive] | None = None
    typical_speed_rpm: Positive | None = None
    speed_at: Literal["bur", "motor"] | None = None
    motor_turns_per_bur_turn: Positive | None = None
    leaves_out_causes: tuple[str, ...] = ()
    leaves_out_findings: tuple[str, ...] = ()
    limits: tuple[ClassLimit, ...] = ()
    relative_limits: tuple[RelativeLimit, ...] = ()
    note: str = ""


class Bearing(Row, frozen=True):
    """A bearing as it is common in a group of classes; lengths in millimetres."""

    name: Text
    bore_mm: Positive
    outside_mm: Positive
    width_mm: tuple[Positive, ...]
    balls: Annotated[int, msgspec.Meta(ge=3, le=30)]
    ball_mm: Positive
    pitch_mm: Positive
    contact_deg: tuple[float, float]
    ring: Text
    ball: Text
    cage: Text
    groups: tuple[HandpieceGroup, ...]
    source: str
    basis: Basis
    note: str = ""


class Complaint(Row, frozen=True):
    """What an office says when it hands a handpiece in."""

    said: Text
    out_of_use: bool


class FindingReading(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """The reading that answers a finding: seen when it lies outside its limit on `side`.

    `absence_settled` says whether a reading within its limit means "looked for, not seen".
    """

    key: Text
    side: Literal["low", "high"]
    absence_settled: bool


class Finding(Row, frozen=True):
    """What can be looked for, how, when, and in how many minutes of hands-on time."""

    name: Text
    signs: Text
    how: Text
    stage: Stage
    groups: tuple[HandpieceGroup, ...]
    minutes: Positive
    in_short_list: bool = False
    destroyed_by_opening: bool = False
    with_gauge: bool = False
    asked: bool = False
    from_records: bool = False
    out_of_use: bool = False
    needs: Need | None = None
    reading: FindingReading | None = None


class Cause(Row, frozen=True):
    """A main cause, what it does, and what to do about it."""

    name: Text
    what_happens: Text
    office_action: Text
    bench_action: Text
    caution: str
    office_care: bool
    needs: Need | None = None
    lubricated_for_life_factor: Annotated[float, msgspec.Meta(ge=0, le=1)] = 1.0


class Effect(Row, frozen=True):
    """How well the office's action against a cause works: the key is the cause's.

    The share of the returns of that cause which the action prevents, where it is not done yet, is
    believed to be Beta(alpha, beta); the belief weighs as much as alpha + beta returns.
    """

    action: Text
    alpha: Annotated[float, msgspec.Meta(ge=1)]
    beta: Annotated[float, msgspec.Meta(ge=1)]
    source: str
    basis: Basis
    note: str = ""

    @property
    def mean(self) -> float:
        """The share expected, above 0 and below 1."""
        return self.alpha / (self.alpha + self.beta)


class Pace(Row, frozen=True):
    """How often one handpiece of a class is used: the key is the class's."""

    uses_a_working_day: Positive
    low: Positive
    high: Positive
    working_days_a_year: Annotated[int, msgspec.Meta(ge=1, le=366)]
    source: str
    basis: Basis
    note: str = ""

    @property
    def uses_a_day(self) -> float:
        """Uses a day of the calendar, weekends and holidays counted."""
        return self.uses_a_working_day * self.working_days_a_year / DAYS_A_YEAR


class Evidence(msgspec.Struct, frozen=True):
    """How often one finding is seen, looked for, under each cause."""

    finding: str
    background: Level
    levels: Mapping[str, Level]
    sources: Mapping[str, tuple[str, ...]]

    def level(self, cause: str) -> Level:
        """Give the level under a cause; the background where the cause is not named."""
        return self.levels.get(cause, self.background)


class Group(Row, frozen=True):
    """Findings and complaints that hang together."""

    name: Text
    members: tuple[str, ...]


class SteamCycle(Row, frozen=True):
    """A cycle of a steam sterilizer as it is common; temperatures in °C, widths in kelvin.

    What is None the cycle does not say: nothing is held against it.
    """

    name: Text
    air_removal: Literal["gravity", "dynamic"]
    set_c: Annotated[float, msgspec.Meta(ge=100, le=140)]
    band_k: Positive
    hold_s: Positive
    source: str
    basis: Basis
    dry_s: Positive | None = None
    drying_pressure_kpa: Positive | None = None
    note: str = ""


class LoadPiece(Row, frozen=True):
    """What one piece of a sterilizer's load weighs, and the heat its material takes."""

    name: Text
    mass_g: Positive
    heat_capacity_j_gk: Positive
    is_metal: bool
    is_pouched: bool
    source: str
    basis: Basis
    note: str = ""


class FeedWaterLimit(Row, frozen=True):
    """What the water fed to a steam generator may hold; at least one side is given."""

    name: Text
    unit: str
    source: str
    basis: Basis
    low: float | None = None
    high: float | None = None
    note: str = ""


class CareStep(Row, frozen=True):
    """One step of the care between two patients."""

    text: Text
    lubricated: tuple[Lubricated, ...]
    groups: tuple[HandpieceGroup, ...]
    caution: str
    source: str
    basis: Basis
