"""The whole shop's stays, times at risk and returns, and what can be asked of them."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from turnwell.errors import InputError
from turnwell.web.lives.records.counts import Counts, counts_of
from turnwell.web.lives.records.histories import ShopHistories, histories_of, with_costs
from turnwell.web.lives.records.lives import (
    Ends,
    ShopLives,
    ends_of,
    lives_after_repair,
    lives_from_new,
)
from turnwell.web.lives.records.paces import Pace, pace_of, pace_of_one
from turnwell.web.lives.records.snapshot import Snapshot
from turnwell.web.lives.records.stretches import Returns, Stretches, returns_of, stretches_of
from turnwell.web.lives.records.tables import KINDS, Handpieces, Jobs, Offices, Visits
from turnwell.web.lives.records.tallies import Tallies, tallies_of
from turnwell.web.lives.records.tied import Tied, tied
from turnwell.web.lives.records.warranties import Warranties, warranties_of

__all__ = ["ShopRecords", "records_of"]


@dataclass(frozen=True, slots=True, eq=False)
class ShopRecords:
    """The whole shop at a moment. Which office may see what is the caller's business.

    Handpieces on loan are in the tables, but not in stretches, returns and all that rests on them:
    nobody knows when one is in use.

    Parameters
    ----------
    stamp : str
        Changes with every write; an answer may be kept by it.
    now_s : int
        Seconds from 1970-01-01 UTC.
    class_keys, cause_keys, currencies : tuple of str
        What the numbers of classes, causes and currencies stand for.
    offices, handpieces, stays, visits : tables
        One row each, all of them; `stays` in the order of the lives.
    stretches : Stretches
        Times at risk.
    returns : Returns
    tied, counts, ends
        What the answers are made of.
    """

    stamp: str
    now_s: int
    class_keys: tuple[str, ...]
    cause_keys: tuple[str, ...]
    currencies: tuple[str, ...]
    offices: Offices
    handpieces: Handpieces
    stays: Jobs
    visits: Visits
    stretches: Stretches
    returns: Returns
    tied: Tied
    counts: Counts
    ends: Ends

    def kind_of(self, class_key: str) -> int:
        """Give the number of a class; -1 where no handpiece is of it."""
        return self.class_keys.index(class_key) if class_key in self.class_keys else -1

    def office_place(self, office: int) -> int:
        """Give the place of an office in the tables.

        Raises
        ------
        InputError
            If no office has that primary key.
        """
        place = int(np.searchsorted(self.offices.pk, office))
        if place == self.offices.count or self.offices.pk[place] != office:
            raise InputError(f"office {office} is not in the book")
        return place

    def handpiece_place(self, handpiece: int) -> int:
        """Give the place of a handpiece in the tables.

        Raises
        ------
        InputError
            If no handpiece has that primary key.
        """
        place = int(np.searchsorted(self.handpieces.pk, handpiece))
        if place == self.handpieces.count or self.handpieces.pk[place] != handpiece:
            raise InputError(f"handpiece {handpiece} is not in the book")
        return place

    def tallies(self, from_s: ArrayLike, to_s: ArrayLike) -> Tallies:
        """Give times at risk and returns after one moment and up to another.

        By office and class, and by handpiece and office.

        Parameters
        ----------
        from_s, to_s : int, or array of int, shape (offices,)
            Seconds from 1970-01-01 UTC; one for all, or one for each office.
        """
        return tallies_of(
            self.stretches,
            self.handpieces.pk,
            self.offices.pk,
            len(self.class_keys),
            from_s=from_s,
            to_s=to_s,
        )

    def exposure_years(
        self, *, office: int | None = None, class_key: str | None = None, from_s: int, to_s: int
    ) -> float:
        """Give the handpiece-years at risk of an office, a class or both between two moments."""
        chosen = self.stretches.chosen(self._stretches_of(office, class_key))
        tallies = tallies_of(
            chosen,
            self.handpieces.pk,
            self.offices.pk,
            len(self.class_keys),
            from_s=from_s,
            to_s=to_s,
        )
        return float(tallies.years.sum())

    def calendar_histories(
        self,
        *,
        since_s: int,
        until_s: int,
        office: int | None = None,
        class_key: str | None = None,
        cost: bool = False,
        currency: str | None = None,
    ) -> ShopHistories:
        """Give histories of returns in days since a moment, one for each handpiece and office.

        Parameters
        ----------
        since_s, until_s : int
            Seconds from 1970-01-01 UTC.
        office : int or None
            Primary key; None for all.
        cost : bool
            Let each return count its price instead of 1.
        currency : str or None
            Of the costs; the one of most returns when None.
        """
        rows = self._stretches_of(office, class_key)
        histories, units, returned = histories_of(
            self.stretches, rows=rows, since_s=since_s, until_s=until_s
        )
        jobs = self.stretches.job[returned]
        uncosted, named = 0, ""
        if cost:
            named = currency or self._usual_currency()
            code = self.currencies.index(named) if named in self.currencies else -2
            if histories is not None:
                histories, uncosted = with_costs(histories, jobs, self.returns, code)
        return ShopHistories(
            histories=histories,
            since_s=since_s,
            until_s=until_s,
            handpiece=self.handpieces.pk[self.stretches.handpiece[units]],
            office=self.offices.pk[self.stretches.office[units]],
            job=jobs,
            uncosted=uncosted,
            currency=named,
        )

    def repair_lives(
        self, *, kind: str | None = None, class_key: str | None = None, office: int | None = None
    ) -> ShopLives:
        """Give the lives after repairs, until the next return.

        Parameters
        ----------
        kind : str or None
            One of `OptionKind`; None for every repair.
        class_key : str or None
        office : int or None
            Primary key: handpieces that are of this office now.

        Raises
        ------
        InputError
            If the kind is none.
        """
        if kind is not None and kind not in KINDS:
            raise InputError(f"{kind!r} is no kind of repair; there are {', '.join(KINDS)}")
        return lives_after_repair(
            self.tied,
            self.counts,
            self.ends,
            option=None if kind is None else KINDS.index(kind),
            handpieces=self._handpieces_of(office, class_key),
        )

    def first_lives(self, *, class_key: str | None = None, office: int | None = None) -> ShopLives:
        """Give the lives from new to the first return, seen from observation on.

        Handpieces of unknown age are left out, and those that had failed before they were observed.
        """
        return lives_from_new(
            self.tied,
            self.counts,
            self.ends,
            handpieces=self._handpieces_of(office, class_key),
        )

    def pace(
        self,
        *,
        handpiece: int | None = None,
        office: int | None = None,
        class_key: str | None = None,
    ) -> Pace | None:
        """Give the care cycles a day of one handpiece, of an office, a class or the shop.

        None where no two counts tell.
        """
        if handpiece is not None:
            return pace_of_one(self.counts, self.handpiece_place(handpiece))
        return pace_of(self.counts, self._handpieces_of(office, class_key))

    def under_warranty(self) -> Warranties:
        """Give the handpieces at work under the warranty of a repair."""
        return warranties_of(self.tied, self.ends)

    def _stretches_of(self, office: int | None, class_key: str | None) -> NDArray[np.bool_]:
        rows = np.ones(self.stretches.count, dtype=np.bool_)
        if office is not None:
            rows &= self.stretches.office == self.office_place(office)
        if class_key is not None:
            rows &= self.stretches.kind == self.kind_of(class_key)
        return rows

    def _handpieces_of(self, office: int | None, class_key: str | None) -> NDArray[np.bool_]:
        rows = np.ones(self.handpieces.count, dtype=np.bool_)
        if office is not None:
            rows &= self.handpieces.office == office
        if class_key is not None:
            rows &= self.handpieces.kind == self.kind_of(class_key)
        return rows

    def _usual_currency(self) -> str:
        known = self.returns.currency[self.returns.currency >= 0]
        return self.currencies[int(np.bincount(known).argmax())] if known.size else ""


def records_of(snapshot: Snapshot, now_s: int) -> ShopRecords:
    """Make the records of a snapshot, as seen at a moment."""
    together = tied(snapshot, now_s)
    words = snapshot.words
    return ShopRecords(
        stamp=snapshot.stamp.text,
        now_s=now_s,
        class_keys=tuple(words.classes),
        cause_keys=tuple(words.causes),
        currencies=tuple(words.currencies),
        offices=together.offices,
        handpieces=together.handpieces,
        stays=together.jobs,
        visits=snapshot.visits,
        stretches=stretches_of(together),
        returns=returns_of(together),
        tied=together,
        counts=counts_of(together),
        ends=ends_of(together),
    )
