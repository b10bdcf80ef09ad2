"""Which jobs are returns, for pages that show a few handpieces; by the rule of `records.rules`."""

from collections.abc import Iterable
from datetime import datetime
from math import ceil

import numpy as np

from turnwell.web.handpieces.models import Handpiece
from turnwell.web.jobs.models import Job
from turnwell.web.lives.records.columns import columns_of
from turnwell.web.lives.records.moments import starts_of_days
from turnwell.web.lives.records.reading import columns_of_days, columns_of_stays
from turnwell.web.lives.records.rules import Stays, watched
from turnwell.web.lives.records.tables import UNKNOWN, codes_of

__all__ = ["return_keys"]


def return_keys(handpieces: Iterable[int], now: datetime) -> frozenset[int]:
    """Give the primary keys of the jobs that are returns; two queries.

    Parameters
    ----------
    handpieces : iterable of int
        Primary keys. All their jobs are looked at, whoever may see them: whether one came back
        hangs on where it was before.
    now : datetime
    """
    keys = sorted(set(handpieces))
    owned = columns_of(
        Handpiece.objects.filter(pk__in=keys), zone="office__time_zone", **columns_of_days()
    )
    rows = columns_of(Job.objects.filter(handpiece__in=keys), **columns_of_stays())
    place = np.searchsorted(owned.pk, rows.whole("handpiece"))
    # Of two taken in within one second the one written first was first.
    order = np.lexsort((rows.pk, rows.whole("taken_in_s"), place))
    names: list[str] = []
    zone = codes_of(owned.words("zone"), names)
    ends = {
        day: starts_of_days(
            np.where(owned.whole(day) == UNKNOWN, UNKNOWN, owned.whole(day) + 1), zone, names
        )
        for day in ("counted_day", "retired_day")
    }
    # Moments are read rounded to seconds; what was written just now lies at most at this one.
    now_s = ceil(now.timestamp())
    retired = ends["retired_day"]
    watch = watched(
        Stays(
            place[order],
            rows.whole("taken_in_s")[order],
            rows.whole("ended_s")[order],
            rows.whole("reason")[order].astype(np.int8),
            rows.whole("stage")[order].astype(np.int8),
        ),
        counted_s=ends["counted_day"],
        until_s=np.where(retired == UNKNOWN, now_s, np.minimum(retired, now_s)),
    )
    return frozenset(rows.pk[order][watch.is_return].tolist())
