"""What the office could change, in order of the returns it is expected to prevent.

An action's effectiveness begins as the catalogue's belief and is updated by this shop's own
trainings: the returns of that cause before and after each, bad spells allowed for.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import partial

import numpy as np

from turnwell.catalogue import load
from turnwell.errors import CannotTellError
from turnwell.life import (
    Action,
    Amount,
    CauseCounts,
    Change,
    Effectiveness,
    ExpectedEffect,
    effectiveness,
    expected_effects,
    mean_cost,
    outlook,
    yearly_returns,
)
from turnwell.life import Window as SeenWindow
from turnwell.pictures import ActionShown, Estimated
from turnwell.web.handpieces.names import cause_name
from turnwell.web.lives.analysis.changes import is_too_young, span_of
from turnwell.web.lives.analysis.expectation import Expectation
from turnwell.web.lives.analysis.windows import windows_of
from turnwell.web.lives.kept import kept_answer
from turnwell.web.lives.records import Returns, ShopRecords
from turnwell.web.visits.models import Visit
from turnwell.words import Message, Param, text_of

__all__ = ["EffectsFound", "effects_of"]

ACTIONS_SHOWN = 3
# Causes whose actions are looked into more closely, and the shop's newest trainings used for that.
LOOKED_INTO = 5
TRAININGS_USED = 12


@dataclass(frozen=True, slots=True)
class EffectsFound:
    """Actions in order of expected effect, and what all of them could save.

    Parameters
    ----------
    actions : tuple of ActionShown
    best : ExpectedEffect or None
        Of the first action; None where nothing can be told.
    why_not : str
        Reason where there is no action.
    """

    actions: tuple[ActionShown, ...]
    best: ExpectedEffect | None
    why_not: str = ""


def effects_of(
    records: ShopRecords,
    expectation: Expectation,
    office: int,
    returns: Returns,
    *,
    costs: tuple[float, ...],
    today: date,
) -> EffectsFound:
    """Rank the actions an office could take.

    Parameters
    ----------
    expectation : Expectation
        Of the period, all offices.
    office : int
        Primary key.
    returns : Returns
        Of this office in the period.
    costs : tuple of float
        What its returns cost, in one currency.
    """
    yearly = _yearly(expectation, office)
    if yearly is None:
        return EffectsFound((), None, text_of("lives.effects.nothing_to_go_by"))
    counts = _causes(records, returns)
    shares = kept_answer(records, "cause shares", partial(_shop_shares, records))
    try:
        cost = mean_cost(costs) if len(costs) > 1 and any(costs) else None
        first = _ranked(yearly, counts, shares, _believed(), cost)
        chosen = [effect.key for effect in first[:LOOKED_INTO]]
        known = {
            key: kept_answer(
                records, ("effectiveness", key), partial(_effectiveness, records, key, today)
            )
            for key in chosen
        }
        effects = _ranked(yearly, counts, shares, known, cost)[:ACTIONS_SHOWN]
    except CannotTellError:
        return EffectsFound((), None, text_of("lives.effects.no_settled_cause"))
    return EffectsFound(
        tuple(_shown(effect, counts, known[effect.key]) for effect in effects), effects[0]
    )


def _ranked(
    yearly: Amount,
    counts: CauseCounts,
    shares: Mapping[str, float],
    known: Mapping[str, Effectiveness],
    cost: Amount | None,
) -> tuple[ExpectedEffect, ...]:
    actions = [Action(key, (key,), effect) for key, effect in known.items()]
    return expected_effects(yearly, counts, shares, actions, cost=cost)


def _yearly(expectation: Expectation, office: int) -> Amount | None:
    """Give the office's returns in a year ahead; None where nothing tells."""
    mine = expectation.of(office)
    if expectation.shrunken is None or not mine.any():
        return None
    ahead = expectation.rates[expectation.kind[mine]]
    if not ahead.any():
        return None
    seen = SeenWindow.of(expectation.counts[mine], expectation.expected[mine])
    return yearly_returns(outlook(expectation.shrunken.spread, seen, ahead))


def _causes(records: ShopRecords, returns: Returns) -> CauseCounts:
    settled = np.bincount(
        returns.cause[returns.cause >= 0], minlength=len(records.cause_keys)
    ).tolist()
    counts = {key: float(n) for key, n in zip(records.cause_keys, settled, strict=True) if n}
    return CauseCounts(counts, float(np.count_nonzero(returns.cause < 0)))


def _shop_shares(records: ShopRecords) -> dict[str, float]:
    """Give the share of each cause among all settled returns; of the catalogue where none is."""
    codes = records.returns.cause[records.returns.cause >= 0]
    keys = sorted({*records.cause_keys, *load().causes})
    if not codes.size:
        return {key: 1.0 / len(keys) for key in keys}
    counted = np.bincount(codes, minlength=len(records.cause_keys)) / codes.size
    return dict(zip(records.cause_keys, counted.tolist(), strict=True))


def _believed() -> dict[str, Effectiveness]:
    return {key: effectiveness(row.alpha, row.beta) for key, row in load().effects.items()}


def _effectiveness(records: ShopRecords, key: str, today: date) -> Effectiveness:
    """Update the catalogue's belief by the shop's newest trainings."""
    belief = load().effects[key]
    if key not in records.cause_keys:
        return effectiveness(belief.alpha, belief.beta)
    cause = records.cause_keys.index(key)
    visits = list(Visit.objects.standing().filter(visited_on__lte=today).select_related("office"))
    trainings = [visit for visit in visits if visit.was_training]
    newest = sorted(trainings, key=lambda visit: visit.visited_on, reverse=True)
    changes: list[Change] = []
    for visit in newest[: 2 * TRAININGS_USED]:
        own = [one for one in visits if one.office_id == visit.office_id]
        found = _change(records, visit, own, today, cause)
        if found is not None:
            changes.append(found)
        if len(changes) == TRAININGS_USED:
            break
    try:
        return effectiveness(belief.alpha, belief.beta, changes)
    except CannotTellError:
        # Comparisons that no share prevented explains say nothing against the belief.
        return effectiveness(belief.alpha, belief.beta)


def _change(
    records: ShopRecords, visit: Visit, visits: list[Visit], today: date, cause: int
) -> Change | None:
    """Compare the returns of one cause before and after a training, where it can be done."""
    span = span_of(visit, visits, today)
    if is_too_young(span):
        return None
    windows = windows_of(records, visit.office, span, cause=cause)
    return None if windows is None else windows.change()


def _shown(effect: ExpectedEffect, counts: CauseCounts, known: Effectiveness) -> ActionShown:
    row = load().effects[effect.key]
    own = int(counts.settled.get(effect.key, 0.0))
    params: dict[str, Param] = {
        "cause": cause_name(effect.key).lower(),
        "own": own,
        "share": 100.0 * effect.cause_share.value,
        "prevents": 100.0 * effect.effectiveness.value,
        "trainings": known.comparisons,
    }
    key = "updated" if known.comparisons else "believed"
    return ActionShown(
        does=f"{row.action.rstrip('.')}.",
        note=row.note,
        fewer=Estimated(effect.prevented.value, effect.prevented.low, effect.prevented.high),
        why=text_of(Message(f"lives.effects.{key}", params)),
    )
