"""Reads of the shop's settings and instruments that several views need."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from turnwell.web.shop.models import Instrument, InstrumentCheck, Shop

__all__ = ["InstrumentLine", "instrument_lines", "the_shop"]


@dataclass(frozen=True, slots=True)
class InstrumentLine:
    """An instrument with its last check that holds.

    Parameters
    ----------
    instrument : Instrument
    last : InstrumentCheck or None
        None where it was never checked.
    is_overdue : bool
        True from the day after it was due.
    """

    instrument: Instrument
    last: InstrumentCheck | None
    is_overdue: bool


def the_shop() -> Shop:
    """Give the shop's settings; the defaults until someone has saved them."""
    return Shop.objects.filter(pk=1).first() or Shop(pk=1)


def instrument_lines(today: date) -> Sequence[InstrumentLine]:
    """Give every instrument, those in use first, each with its last check; two queries."""
    last: dict[int, InstrumentCheck] = {}
    for check in InstrumentCheck.objects.standing().order_by("checked_on", "pk"):
        last[check.instrument_id] = check
    rows = Instrument.objects.order_by("is_retired", "kind", "name")
    return [_line(row, last.get(row.pk), today) for row in rows]


def _line(row: Instrument, last: InstrumentCheck | None, today: date) -> InstrumentLine:
    is_due = last is not None and last.due_on is not None and last.due_on < today
    return InstrumentLine(row, last, is_due and not row.is_retired)
