"""What to look at next: the looks that are expected to settle most in a minute of hands-on time."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from turnwell.catalogue import Finding
from turnwell.cause.answers import Answers
from turnwell.cause.ladder import LookNext, Outcome
from turnwell.cause.likelihood import entropy_bit, probabilities
from turnwell.cause.table import Array, Table
from turnwell.words import Message

__all__ = ["Gain", "gains", "looks"]

LEAST_GAIN_BIT = 0.03
OFFERED = 3
# Hands-on minutes, common practice: opening a head or motor and cleaning what must be seen; the
# first connection to gauge and microphone.
OPENING_MINUTES = {"turbine": 5.0, "motor": 15.0, "attachment": 15.0, "coupler": 5.0}
CONNECTING_MINUTES = 3.0


@dataclass(frozen=True, slots=True, eq=False)
class Gain:
    """What one look is expected to tell.

    Parameters
    ----------
    finding : Finding
        What would be looked for.
    bit : float
        Expected fall of the ranking's entropy.
    minutes : float
        Of the look alone.
    if_seen, if_not_seen : array, shape (causes,)
        Probabilities after either answer.
    """

    finding: Finding
    bit: float
    minutes: float
    if_seen: Array
    if_not_seen: Array

    @property
    def bit_per_minute(self) -> float:
        """Expected fall of entropy for each minute of the look alone."""
        return self.bit / self.minutes


def gains(table: Table, answers: Answers) -> tuple[Gain, ...]:
    """Give the expected gain of every finding not yet answered, the best in a minute first.

    The candidate itself counts in full: its group weight is left out.

    Examples
    --------
    >>> from turnwell import catalogue
    >>> from turnwell.cause import table_for
    >>> table = table_for(catalogue.load(), "air_turbine_4_hole")
    >>> best = gains(table, Answers(complaints=("no_torque",)))[0]
    >>> best.finding.key, round(best.bit_per_minute, 3)
    ('bearings_dry', 0.242)
    """
    now = probabilities(table, answers)
    return _gains_from(table, now, set(answers.findings))


def _gains_from(table: Table, now: Array, answered: set[str]) -> tuple[Gain, ...]:
    levels = table.levels
    seen, missed = now * levels, now * (1.0 - levels)
    chance = seen.sum(axis=1)
    if_seen = seen / chance[:, None]
    if_not_seen = missed / (1.0 - chance)[:, None]
    after = chance * entropy_bit(if_seen) + (1.0 - chance) * entropy_bit(if_not_seen)
    fall = entropy_bit(now) - after
    found = [
        Gain(row, float(fall[i]), float(row.minutes), if_seen[i], if_not_seen[i])
        for i, row in enumerate(table.findings)
        if row.key not in answered
    ]
    return tuple(sorted(found, key=lambda gain: -gain.bit_per_minute))


def looks(
    table: Table, answers: Answers, now: Array, *, is_open: bool, is_leading: bool
) -> tuple[tuple[LookNext, ...], tuple[LookNext, ...]]:
    """Give what to look at next at the bench, and what to look for at the office's next visit.

    Parameters
    ----------
    table, answers
        As for `gains`.
    now : array, shape (causes,)
        The ranking's probabilities.
    is_open : bool
        Whether it is opened already.
    is_leading : bool
        Whether one cause leads: then looks that cannot put another above it are left out.
    """
    answered = set(answers.findings)
    worth = [
        gain
        for gain in _gains_from(table, now, answered)
        if gain.bit >= LEAST_GAIN_BIT and not (is_open and gain.finding.destroyed_by_opening)
    ]
    if is_leading and not any(_changes_first(gain, now) for gain in worth):
        return (), ()
    visit = [gain for gain in worth if _is_for_visit(gain.finding)]
    bench = [gain for gain in worth if not _is_for_visit(gain.finding)]
    is_connected = any(row.with_gauge for row in table.findings if row.key in answered)
    steps = [_look(table, gain, is_connected=is_connected) for gain in bench]
    if not is_open:
        steps = _closed(table, now, bench, steps)
    at_visit = tuple(_look(table, gain, is_connected=True) for gain in visit[:OFFERED])
    return tuple(steps[:OFFERED]), at_visit


def _is_for_visit(row: Finding) -> bool:
    return row.stage == "office" and not (row.asked or row.from_records)


def _changes_first(gain: Gain, now: Array) -> bool:
    first = int(now.argmax())
    return int(gain.if_seen.argmax()) != first or int(gain.if_not_seen.argmax()) != first


def _closed(
    table: Table, now: Array, bench: Sequence[Gain], steps: Sequence[LookNext]
) -> list[LookNext]:
    """Order the looks at a unit that is still closed.

    What opening destroys comes first. What needs opening is folded into one step; it takes the
    last place when the three best looks all need it, or when too few others are left.
    """
    inside = [gain for gain in bench if gain.finding.stage == "torn down"]
    outside = [
        (gain, step)
        for gain, step in zip(bench, steps, strict=True)
        if gain.finding.stage != "torn down"
    ]
    outside.sort(key=lambda pair: not pair[0].finding.destroyed_by_opening)
    ordered = [step for _, step in outside]
    if not inside:
        return ordered
    best_need_opening = all(gain.finding.stage == "torn down" for gain in bench[:OFFERED])
    room = OFFERED - 1 if best_need_opening else OFFERED
    return [*ordered[:room], _opening(table, now, inside[:OFFERED])]


def _look(table: Table, gain: Gain, *, is_connected: bool) -> LookNext:
    row = gain.finding
    extra = 0.0 if is_connected or not row.with_gauge else CONNECTING_MINUTES
    minutes = gain.minutes + extra
    return LookNext(
        keys=(row.key,),
        message=Message("cause.look.one", {"name": row.name, "how": row.how, "minutes": minutes}),
        gain_bit=gain.bit,
        minutes=minutes,
        if_seen=_outcome(table, gain.if_seen),
        if_not_seen=_outcome(table, gain.if_not_seen),
    )


def _opening(table: Table, now: Array, inside: Sequence[Gain]) -> LookNext:
    keys = tuple(gain.finding.key for gain in inside)
    minutes = OPENING_MINUTES[table.group] + sum(gain.minutes for gain in inside)
    names = ", ".join(gain.finding.name for gain in inside)
    return LookNext(
        keys=keys,
        message=Message("cause.look.open", {"names": names, "minutes": minutes}),
        gain_bit=_joint_gain(table, now, keys),
        minutes=minutes,
        if_seen=None,
        if_not_seen=None,
    )


def _joint_gain(table: Table, now: Array, keys: Sequence[str]) -> float:
    """Give the expected fall of entropy when several findings are answered at once."""
    rows = [i for i, row in enumerate(table.findings) if row.key in keys]
    joint = now[None, :]
    for level in table.levels[rows]:
        joint = np.concatenate([joint * level, joint * (1.0 - level)])
    chance = joint.sum(axis=1)
    after = entropy_bit(joint / chance[:, None])
    return float(entropy_bit(now) - (chance * after).sum())


def _outcome(table: Table, chances: Array) -> Outcome:
    first = int(chances.argmax())
    row = table.causes[first]
    return Outcome(cause=row.key, name=row.name, probability=float(chances[first]))
