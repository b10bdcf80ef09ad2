"""What the office could change, in order of the returns it is expected to prevent.

An action's effectiveness begins as the catalogue's belief and is updated by this shop's own
trainings: the returns of that cause before and after each, bad spells allowed for.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
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
    Shrunken,
    effectiveness,
    expected_effects,
    mean_cost,
    outlook,
    yearly_returns,
)
from turnwell.life import Window as SeenWindow
from turnwell.pictures import ActionShown
from turnwell.web.handpieces.names import cause_name
from turnwell.web.lives.analysis.changes import is_too_young, span_of
from turnwell.web.lives.analysis.estimated import estimated
from turnwell.web.lives.analysis.expectation import Expectation, expectation_between
from turnwell.web.lives.analysis.windows import Span, windows_of
from turnwell.web.lives.kept import kept_answer
from turnwell.web.lives.records import Returns, ShopRecords
from turnwell.web.offices.models import Office
from turnwell.web.visits.models import Visit
from turnwell.words import Message, Param, text_of

__all__ = ["EffectsFound", "effects_of"]

ACTIONS_SHOWN = 3
# Causes whose actions are looked into more closely, and the shop's newest trainings used for that.
LOOKED_INTO = 4
TRAININGS_USED = 8


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
    shrunken: Shrunken | None,
    office: int,
    returns: Returns,
    *,
    costs: tuple[float, ...],
    today: date,
) -> EffectsFound:
    """Rank the actions an office could take.

    Parameters
    ----------
    expectation, shrunken : Expectation, Shrunken or None
        Of the period, all offices.
    office : int
        Primary key.
    returns : Returns
        Of this office in the period.
    costs : tuple of float
        What its returns cost, in one currency.
    """
    yearly = _yearly(expectation, shrunken, office)
    if yearly is None:
        return EffectsFound((), None, text_of("lives.effects.nothing_to_go_by"))
    counts = _causes(records, returns)
    shares = kept_answer(records, "cause shares", partial(_shop_shares, records))
    try:
        cost = mean_cost(costs) if len(costs) > 1 and any(costs) else None
        first = _ranked(yearly, counts, shares, _believed(), cost)
        chosen = [effect.key for effect in first[:LOOKED_INTO]]
        trainings = kept_answer(records, ("trainings", today), partial(_newest_trainings, today))
        known = {
            key: kept_answer(
                records, ("effectiveness", key), partial(_effectiveness, records, key, trainings)
            )
            for key in chosen
        }
        ranked = _ranked(yearly, counts, shares, known, cost)
    except CannotTellError:
        return EffectsFound((), None, text_of("lives.effects.no_settled_cause"))
    # Against a cause that never came in any office no action is named.
    effects = [effect for effect in ranked if effect.prevented.high > 0.0][:ACTIONS_SHOWN]
    if not effects:
        return EffectsFound((), None, text_of("lives.effects.no_action"))
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


def _yearly(expectation: Expectation, shrunken: Shrunken | None, office: int) -> Amount | None:
    """Give the office's returns in a year ahead; None where nothing tells."""
    mine = expectation.of(office)
    if shrunken is None or not mine.any():
        return None
    ahead = expectation.rates[expectation.kind[mine]]
    if not ahead.any():
        return None
    seen = SeenWindow.of(expectation.counts[mine], expectation.expected[mine])
    return yearly_returns(outlook(shrunken.spread, seen, ahead))


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


def _effectiveness(
    records: ShopRecords, key: str, trainings: Sequence[tuple[Office, Span]]
) -> Effectiveness:
    """Update the catalogue's belief by the shop's newest trainings."""
    belief = load().effects[key]
    changes: list[Change] = []
    if trainings and key in records.cause_keys:
        cause = records.cause_keys.index(key)
        whole = expectation_between(records, 0, records.now_s, cause=cause)
        shop = whole.shrunken()
        if shop is not None:
            found = (
                windows_of(records, office, span, cause=cause, shop=shop.spread, rates=whole.rates)
                for office, span in trainings
            )
            told = (windows.change() for windows in found if windows is not None)
            changes = [one for one in told if one is not None]
    try:
        return effectiveness(belief.alpha, belief.beta, changes)
    except CannotTellError:
        # Comparisons that no share prevented explains say nothing for or against the belief.
        return effectiveness(belief.alpha, belief.beta)


def _newest_trainings(today: date) -> tuple[tuple[Office, Span], ...]:
    """Give the shop's newest trainings that are old enough, with how far is looked around each."""
    rows = Visit.objects.standing().filter(was_training=True, visited_on__lte=today).order_by()
    trained: dict[int, list[date]] = defaultdict(list)
    for office, day in rows.values_list("office_id", "visited_on"):
        trained[office].append(day)
    days = sorted(((day, office) for office, some in trained.items() for day in some), reverse=True)
    newest: list[tuple[int, Span]] = []
    for day, office in days:
        span = span_of(day, trained[office], today)
        if not is_too_young(span):
            newest.append((office, span))
        if len(newest) == TRAININGS_USED:
            break
    offices = Office.objects.in_bulk([office for office, _ in newest])
    return tuple((offices[office], span) for office, span in newest)


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
        fewer=estimated(effect.prevented),
        why=text_of(Message(f"lives.effects.{key}", params)),
    )
