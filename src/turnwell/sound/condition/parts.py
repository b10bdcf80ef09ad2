"""What the parts of a bearing showed before and after.

The level of a part has no interval, so its change has none: what is compared is whether the part
stands out.
"""

from collections.abc import Mapping
from typing import Any

from turnwell.sound.condition.change import Change, ChangeVerdict
from turnwell.words import Message

__all__ = ["part_changes"]

_OUT, _IN = "stands out", "does not stand out"
_PARTS = ("cage", "outer_ring", "inner_ring", "ball")


def part_changes(
    before: Mapping[str, Any] | None, after: Mapping[str, Any] | None
) -> tuple[Change, ...]:
    """Compare the parts that both documents judge.

    Parameters
    ----------
    before, after : mapping or None
        The key "condition" of the documents.
    """
    earlier, later = _verdicts(before), _verdicts(after)
    return tuple(
        _change(part, earlier[part], later[part])
        for part in _PARTS
        if part in earlier and part in later
    )


def _verdicts(condition: Mapping[str, Any] | None) -> dict[str, str]:
    bearing = (condition or {}).get("bearing") or {}
    return {str(row["part"]): str(row["verdict"]) for row in bearing.get("parts", ())}


def _change(part: str, before: str, after: str) -> Change:
    """Say whether one part stands out more or less than before."""
    if {before, after} <= {_OUT, _IN}:
        verdict = ChangeVerdict.NOT_SHOWN
        if before != after:
            verdict = ChangeVerdict.ROSE if after == _OUT else ChangeVerdict.FELL
    else:
        verdict = ChangeVerdict.CANNOT_TELL
    name = Message(f"condition.part.{part}")
    why = Message(f"condition.part.{verdict.key}", {"name": name, "before": before, "after": after})
    return Change(f"bearing_{part}", name, "dB", None, None, None, verdict, why)
