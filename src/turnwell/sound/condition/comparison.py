"""Before against after: what changed from one recording to another, and whether that is shown.

Every reading that both recordings hold is compared. Levels are compared only where both recordings
were made alike and neither gain nor clipping nor noise suppression touched them.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import floor, isfinite, log10
from typing import Any

from turnwell.errors import InputError
from turnwell.measure import Verdict
from turnwell.sound.condition.change import (
    Change,
    ChangeVerdict,
    difference,
    speed_difference,
    verdict_on_change,
)
from turnwell.sound.condition.parts import part_changes
from turnwell.sound.listening import Listening
from turnwell.sound.quantity import Quantity
from turnwell.words import Message, text_of

__all__ = ["COMPARISON_SCHEMA", "Comparison", "compare", "compare_documents"]

COMPARISON_SCHEMA = "turnwell.listen-comparison/1"
_SPEEDS = frozenset({"free_running_speed", "drive_speed", "speed_heard"})
# Readings that hang on how the sound was recorded; those of a calibrated level do not.
_LEVEL_LIKE = frozenset({"roughness", "rotation_line_growth", "bearing_evidence"})
_CALIBRATED = frozenset({"sound_level", "noise_dose"})
_LOSSLESS = ("pcm_", "flac", "alac", "wavpack", "array")
_LEVEL = 0.95


@dataclass(frozen=True, slots=True, eq=False)
class Comparison:
    """What changed between two recordings.

    Parameters
    ----------
    before, after : mapping
        Facts of the recordings, as their documents hold them.
    changes : tuple of Change
        In the order of the readings before; what a bearing's parts show comes last.
    same_recorder : bool
        True where the caller said that both were made with one recorder.
    """

    before: Mapping[str, Any]
    after: Mapping[str, Any]
    changes: tuple[Change, ...]
    same_recorder: bool

    @property
    def caveats(self) -> tuple[Message, ...]:
        """What a change that is shown does not say."""
        clock = "one_clock" if self.same_recorder else "two_clocks"
        return (Message("condition.comparison.once"), Message(f"condition.comparison.{clock}"))

    def change(self, key: str) -> Change | None:
        """Give the change of a reading's key, None where there is none."""
        return next((change for change in self.changes if change.key == key), None)

    def as_dict(self, language: str = "en") -> dict[str, Any]:
        """Give the document of schema ``turnwell.listen-comparison/1``."""
        return {
            "schema": COMPARISON_SCHEMA,
            "before": dict(self.before),
            "after": dict(self.after),
            "same_recorder": self.same_recorder,
            "level": _LEVEL,
            "changes": [change.as_dict(language) for change in self.changes],
            "caveats": [text_of(caveat, language) for caveat in self.caveats],
        }

    def __str__(self) -> str:
        """Write the changes, one a line, and what they do not say."""
        lines = [change.why for change in self.changes]
        return "\n".join(text_of(line) for line in [*lines, *self.caveats])


def compare(
    before: Listening, after: Listening, *, same_recorder: bool = False, clock_ppm: float = 100.0
) -> Comparison:
    """Compare what was heard before with what was heard after.

    Parameters
    ----------
    before, after : Listening
    same_recorder : bool
        True where one recorder made both; its clock's error then mostly cancels.
    clock_ppm : float
        Bound of the clock's error that the speeds were given with, >= 0.

    Raises
    ------
    InputError
        If both are one recording, or hold no reading in common.
    """
    return compare_documents(
        before.as_dict(), after.as_dict(), same_recorder=same_recorder, clock_ppm=clock_ppm
    )


def compare_documents(
    before: Mapping[str, Any],
    after: Mapping[str, Any],
    *,
    same_recorder: bool = False,
    clock_ppm: float = 100.0,
) -> Comparison:
    """Compare two stored documents of schema ``turnwell.listen/…``; otherwise as `compare`.

    Raises
    ------
    InputError
        If a document is no listening, both are one recording, or they hold no reading in common.
    """
    if not (isfinite(clock_ppm) and clock_ppm >= 0.0):
        raise InputError(f"clock_ppm is {clock_ppm}, must be >= 0")
    for side, document in (("before", before), ("after", after)):
        _check(side, document)
    if before["recording"]["sha256"] == after["recording"]["sha256"]:
        raise InputError("before and after are the same recording; give two recordings")
    earlier = {row["key"]: row for row in before["readings"]}
    later = {row["key"]: row for row in after["readings"]}
    shared = [key for key in earlier if key in later and earlier[key]["unit"] == later[key]["unit"]]
    if not shared:
        raise InputError(
            f"the recordings have no reading in common: before tells {_listed(earlier)}, after "
            f"tells {_listed(later)}; listen to both with the same class and gear ratio"
        )
    hindrance = _hindrance(before, after)
    changes = [
        _change(
            earlier[key],
            later[key],
            hindrance=hindrance.get(key),
            same_recorder=same_recorder,
            clock_ppm=clock_ppm,
        )
        for key in shared
    ]
    parts = part_changes(before.get("condition"), after.get("condition"))
    if parts and "bearing_evidence" not in hindrance:
        changes += parts
    return Comparison(before["recording"], after["recording"], tuple(changes), same_recorder)


def _check(side: str, document: Mapping[str, Any]) -> None:
    """Refuse what is no document of a listening."""
    if not str(document.get("schema", "")).startswith("turnwell.listen/"):
        raise InputError(f"{side} is no document of turnwell listen; listen to the recording first")
    if not document.get("readings"):
        raise InputError(f"{side} holds no readings; listen to the recording again")


def _listed(rows: Mapping[str, Any]) -> str:
    return ", ".join(rows)


def _hindrance(before: Mapping[str, Any], after: Mapping[str, Any]) -> dict[str, Message]:
    """Say for each reading that hangs on the recording why it cannot be compared, if so."""
    touched = _touched(before) or _touched(after)
    hindered = dict.fromkeys(_CALIBRATED | _LEVEL_LIKE, touched) if touched else {}
    first, second = before["recording"], after["recording"]
    unlike = None
    if first["rate_hz"] != second["rate_hz"]:
        rates = {"before_hz": first["rate_hz"], "after_hz": second["rate_hz"]}
        unlike = Message("condition.change.other_rate", rates)
    elif _coding(first["codec"]) != _coding(second["codec"]):
        codecs = {"before_codec": first["codec"], "after_codec": second["codec"]}
        unlike = Message("condition.change.other_codec", codecs)
    if unlike is not None:
        hindered |= dict.fromkeys(_LEVEL_LIKE, unlike)
    return {key: message for key, message in hindered.items() if message is not None}


def _touched(document: Mapping[str, Any]) -> Message | None:
    """Give the finding that makes levels of a recording untrue."""
    for finding in document.get("gate", ()):
        if "level" in finding["takes_away"]:
            return Message("condition.change.gate", {"finding": finding["message"]})
    return None


def _coding(codec: str) -> str:
    return "lossless" if codec.startswith(_LOSSLESS) else codec


def _change(
    earlier: Mapping[str, Any],
    later: Mapping[str, Any],
    *,
    hindrance: Message | None,
    same_recorder: bool,
    clock_ppm: float,
) -> Change:
    """Compare one reading."""
    before, after = _quantity(earlier), _quantity(later)
    key, unit = str(later["key"]), str(later["unit"])
    name = Message(f"reading.{key}")
    hindrance = hindrance or _untold(earlier, later)
    if hindrance is not None or before is None or after is None:
        params = {"name": name, "why": hindrance or Message("measure.not_measured")}
        why = Message("condition.change.cannot_tell", params)
        return Change(key, name, unit, before, after, None, ChangeVerdict.CANNOT_TELL, why)
    if key in _SPEEDS:
        change = speed_difference(before, after, clock_ppm=clock_ppm, same_recorder=same_recorder)
    else:
        change = difference(before, after)
    verdict = verdict_on_change(change)
    why = _sentence(name, unit, change, verdict)
    return Change(key, name, unit, before, after, change, verdict, why)


def _quantity(row: Mapping[str, Any]) -> Quantity | None:
    """Read value and interval of a reading; None where it has none."""
    value, low, high = row["value"], row["low"], row["high"]
    if value is None or row["verdict"] == Verdict.CANNOT_TELL.value:
        return None
    if not (low <= value <= high) or row["level"] != _LEVEL:
        raise InputError(
            f"reading {row['key']} is {value} within {low} to {high} at {row['level']}; "
            f"a value inside its {_LEVEL} interval is needed"
        )
    return Quantity(float(value), float(low), float(high))


def _untold(earlier: Mapping[str, Any], later: Mapping[str, Any]) -> Message | None:
    for side, row in (("before", earlier), ("after", later)):
        if _quantity(row) is None:
            return Message(f"condition.change.untold_{side}", {"why": str(row["why"])})
    return None


def _sentence(name: Message, unit: str, change: Quantity, verdict: ChangeVerdict) -> Message:
    """Say the change with the digits that its interval allows."""
    half = 0.5 * (change.high - change.low)
    digits = min(max(1 - floor(log10(max(half, 1e-6))), 0), 6)
    space = " " if unit else ""
    shown = {
        side: f"{number:+,.{digits}f}{space}{unit}"
        for side, number in (("by", change.value), ("low", change.low), ("high", change.high))
    }
    return Message(f"condition.change.{verdict.key}", {"name": name, **shown})
