"""What the page of the round shows."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import partial
from math import ceil, floor, log10

from turnwell.measure import Reading
from turnwell.pictures import FunnelPicture
from turnwell.web.lives.analysis.expectation import expectation_between
from turnwell.web.lives.analysis.lasting import Lasting, lasting_of
from turnwell.web.lives.analysis.quarter import (
    PartToHold,
    Reserve,
    other_jobs,
    parts_to_hold,
    reserve_of,
)
from turnwell.web.lives.analysis.round import OfficeStanding, Standings, standings_of
from turnwell.web.lives.kept import kept_answer
from turnwell.web.lives.records import DAY_S, YEAR_DAYS, ShopRecords, shop_records
from turnwell.web.offices.models import Office
from turnwell.web.shared.times import day_shown, today_in_zone
from turnwell.words import Message, text_of

__all__ = ["OfficeRow", "RoundPage", "round_page_of"]

# Rows of the table that stand open; the rest unfold.
ROWS_OPEN = 12


@dataclass(frozen=True, slots=True)
class OfficeRow:
    """A row of the table of offices."""

    office: Office
    standing: OfficeStanding


@dataclass(frozen=True, slots=True, eq=False)
class RoundPage:
    """The round as its page shows it.

    Parameters
    ----------
    says : str
    first, last : date
    standings : Standings or None
    rows, further : tuple of OfficeRow
        Those most likely above expectation first; `further` unfold.
    picture : FunnelPicture or None
    others : Reading
        Jobs that are no return, in the next quarter.
    parts : tuple of PartToHold
    reserve : Reserve
    lasting : tuple of Lasting
    """

    says: str
    first: date
    last: date
    standings: Standings | None
    rows: tuple[OfficeRow, ...]
    further: tuple[OfficeRow, ...]
    picture: FunnelPicture | None
    others: Reading
    parts: tuple[PartToHold, ...]
    reserve: Reserve
    lasting: tuple[Lasting, ...]

    @property
    def suffices(self) -> str:
        """Money that suffices for warranties, rounded up to two figures."""
        money = self.reserve.suffices
        if not money:
            return "0"
        step = 10.0 ** max(floor(log10(money)) - 1, 0)
        return f"{ceil(money / step) * step:,.0f}"


def round_page_of(*, years: int, zone: str, now: datetime) -> RoundPage:
    """Give what the page of the round shows; made once until something is written.

    Parameters
    ----------
    years : int
        How far to look back.
    zone : str
        The shop's clock.
    """
    records = shop_records(now)
    today = today_in_zone(zone, now)
    return kept_answer(records, ("round", years, today), partial(_made, records, years, today, now))


def _made(records: ShopRecords, years: int, today: date, now: datetime) -> RoundPage:
    from_s = records.now_s - round(years * YEAR_DAYS * DAY_S)
    from_s = max(from_s, int(records.stretches.start_s.min(initial=records.now_s)))
    expectation = expectation_between(records, from_s, records.now_s)
    a_year_ago = records.now_s - round(YEAR_DAYS * DAY_S)
    lately = expectation_between(records, a_year_ago, records.now_s)
    standings = standings_of(records, expectation, lately)
    first = today - timedelta(days=round((records.now_s - from_s) / DAY_S))
    offices = Office.objects.in_bulk()
    rows = tuple(
        OfficeRow(offices[one.office], one)
        for one in (standings.offices if standings else ())
        if one.office in offices
    )
    return RoundPage(
        says=_says(rows),
        first=first,
        last=today,
        standings=standings,
        rows=rows[:ROWS_OPEN],
        further=rows[ROWS_OPEN:],
        picture=_picture(standings, offices, first, today),
        others=other_jobs(records),
        parts=parts_to_hold(now),
        reserve=reserve_of(records),
        lasting=lasting_of(records),
    )


def _picture(
    standings: Standings | None, offices: Mapping[int, Office], first: date, last: date
) -> FunnelPicture | None:
    if standings is None:
        return None
    period = Message("lives.round.by", {"first": day_shown(first), "last": day_shown(last)})
    return standings.picture({key: row.name for key, row in offices.items()}, by=text_of(period))


def _says(rows: tuple[OfficeRow, ...]) -> str:
    """Name the offices that most surely have more returns than expected."""
    if not rows:
        return text_of("lives.round.nothing")
    sure = [row for row in rows if row.standing.ratio.low > 1.0]
    if not sure:
        return text_of(Message("lives.round.none_above", {"offices": len(rows)}))
    named = ", ".join(row.office.name for row in sure[:3])
    if len(sure) > 3:
        named += text_of(Message("lives.round.and_more", {"count": len(sure) - 3}))
    return text_of(Message("lives.round.above", {"offices": named}))
