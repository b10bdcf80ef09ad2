"""The limits of a class or model as a page shows them: what holds, its source, what it replaces."""

from collections.abc import Mapping
from dataclasses import dataclass

from turnwell.catalogue import ClassLimit, RelativeLimit, load
from turnwell.measure import Basis, Limit
from turnwell.web.handpieces.limits import OF_LABEL, limits_of, units_of_class
from turnwell.web.handpieces.models import HandpieceModel, LimitOverride

__all__ = ["DefaultLimit", "LimitRow", "default_limit", "history", "limit_rows"]


@dataclass(frozen=True, slots=True)
class DefaultLimit:
    """The catalogue's limit, in the unit in which own ones are typed.

    Parameters
    ----------
    low, high : float or None
        One is open where only one side is given.
    unit : str
        As `limits.unit_of` gives it.
    source, where : str
        Key and place of the source.
    """

    low: float | None
    high: float | None
    unit: str
    source: str
    where: str
    basis: Basis
    note: str


@dataclass(frozen=True, slots=True)
class LimitRow:
    """One reading's limit.

    Parameters
    ----------
    default : DefaultLimit or None
        The catalogue's.
    own, of_class : LimitOverride or None
        The shop's own for this very class or model; for a model, the class's own behind it.
    low, high : float or None
        What holds now, in `unit`; both None where nothing does.
    unit : str
        Unit of the reading.
    source : str
        Where what holds now comes from.
    basis : Basis or None
        How it is known.
    """

    reading_key: str
    default: DefaultLimit | None
    own: LimitOverride | None
    of_class: LimitOverride | None
    low: float | None
    high: float | None
    unit: str
    source: str
    basis: Basis | None


def limit_rows(class_key: str, model: HandpieceModel | None = None) -> list[LimitRow]:
    """Give the limits of a class, or of one model of it: those that hold first."""
    own = _standing(class_key, model)
    of_class = _standing(class_key, None) if model is not None else {}
    holding = limits_of(class_key, model)
    rows = [
        _row(
            key,
            unit,
            holding=holding.get(key),
            default=default_limit(class_key, key),
            own=own.get(key),
            of_class=of_class.get(key),
        )
        for key, unit in units_of_class(class_key).items()
    ]
    return sorted(rows, key=lambda row: row.basis is None)


def _row(
    key: str,
    unit: str,
    *,
    holding: Limit | None,
    default: DefaultLimit | None,
    own: LimitOverride | None,
    of_class: LimitOverride | None,
) -> LimitRow:
    """Give a reading's row: what holds, or what would hold once the label speed is known."""
    follows = own or of_class
    low: float | None = None
    high: float | None = None
    source, basis = "", None
    if holding is not None:
        low, high, source, basis = holding.low, holding.high, holding.source, holding.basis
        unit = "rpm" if unit == OF_LABEL else unit
    elif follows is not None:
        low, high, source, basis = follows.low, follows.high, follows.reason, Basis.OWN
    elif default is not None:
        low, high, source, basis = default.low, default.high, default.where, default.basis
    return LimitRow(key, default, own, of_class, low, high, unit, source, basis)


def default_limit(class_key: str, reading_key: str) -> DefaultLimit | None:
    """Give the catalogue's limit of a reading, or None where it has none."""
    kind = load().handpiece_class(class_key)
    for row in kind.limits:
        if row.reading_key == reading_key:
            return _default(row, row.low, row.high, row.unit)
    for relative in kind.relative_limits:
        if relative.reading_key == reading_key:
            share = round(100.0 * relative.tolerance, 6)
            return _default(relative, -share, share, OF_LABEL)
    return None


def history(
    reading_key: str, *, class_key: str = "", model: HandpieceModel | None = None
) -> list[LimitOverride]:
    """Give every entry about an own limit of a class or a model, newest first."""
    rows = LimitOverride.objects.filter(reading_key=reading_key, class_key=class_key, model=model)
    return list(rows.select_related("entered_by").order_by("-entered_at", "-pk"))


def _default(
    row: ClassLimit | RelativeLimit, low: float | None, high: float | None, unit: str
) -> DefaultLimit:
    where = load().sources[row.source].where
    return DefaultLimit(low, high, unit, row.source, where, row.basis, row.note)


def _standing(class_key: str, model: HandpieceModel | None) -> Mapping[str, LimitOverride]:
    whose = {"class_key": class_key, "model": None} if model is None else {"model": model}
    rows = LimitOverride.objects.standing().filter(**whose).select_related("entered_by", "model")
    return {row.reading_key: row for row in rows.order_by("entered_at", "pk")}
