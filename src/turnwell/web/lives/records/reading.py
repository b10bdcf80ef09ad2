"""Reads the shop's rows into arrays: whole columns by few queries, no model for a row.

Corrections of an entry are entries of the same job, so rows of whole jobs hold all that is needed
to tell which entries stand.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, TypeVar

import numpy as np
from django.db.models import (
    BigIntegerField,
    Case,
    F,
    IntegerField,
    Model,
    Q,
    QuerySet,
    Value,
    When,
)
from django.db.models.functions import Cast, Coalesce, Round
from numpy.typing import NDArray

from turnwell.web.handpieces.models import Handpiece
from turnwell.web.jobs.models import ConfirmedCause, EstimateAnswer, EstimateOption, Job
from turnwell.web.lives.records.columns import Columns, EpochDay, EpochSecond, columns_of
from turnwell.web.lives.records.tables import (
    KINDS,
    REASONS,
    STAGES,
    UNKNOWN,
    Handpieces,
    Jobs,
    Offices,
    Visits,
    Whole,
    Words,
    codes_of,
)
from turnwell.web.offices.models import Office
from turnwell.web.visits.models import Visit

__all__ = [
    "Span",
    "columns_of_days",
    "columns_of_stays",
    "read_handpieces",
    "read_jobs",
    "read_offices",
    "read_visits",
]

PRICES = (("parts", "price"), ("labour", "price"), ("tax", "amount"))
RowT = TypeVar("RowT", bound=Model)


@dataclass(frozen=True, slots=True)
class Span:
    """Primary keys from `first` to before `end`."""

    first: int
    end: int


@dataclass(frozen=True, slots=True, eq=False)
class _Prices:
    """Options row by row; prices in hundredths."""

    kind: NDArray[np.int8]
    hundredths: Whole
    currency: NDArray[np.int16]
    months: NDArray[np.int16]


def read_jobs(words: Words, spans: Sequence[Span] | None = None) -> Jobs:
    """Read all jobs, or those of some spans of keys; four queries."""
    rows = columns_of(
        _within(Job.objects.all(), "pk", spans),
        office="office_id",
        cycles=_known("known_cycles"),
        **columns_of_stays(),
    )
    prices, has_price = _agreed(rows.pk, words, spans)
    return Jobs(
        rows.pk,
        rows.whole("handpiece"),
        rows.whole("office"),
        rows.whole("reason").astype(np.int8),
        rows.whole("stage").astype(np.int8),
        rows.whole("taken_in_s"),
        rows.whole("ended_s"),
        rows.whole("cycles"),
        _causes(rows.pk, words, spans),
        prices.kind,
        np.where(has_price, prices.hundredths / 100.0, np.nan),
        prices.currency,
        prices.months,
    )


def read_handpieces(words: Words, spans: Sequence[Span] | None = None) -> Handpieces:
    """Read all handpieces, or those of some spans of keys; one query."""
    rows = columns_of(
        _within(Handpiece.objects.all(), "pk", spans),
        kind="class_key",
        office="office_id",
        since_day=_known(EpochDay("in_service_since")),
        cycles=_known("known_cycles"),
        is_loan=_flag("is_loan"),
        code="code",
        **columns_of_days(),
    )
    return Handpieces(
        rows.pk,
        codes_of(rows.words("kind"), words.classes),
        rows.whole("office"),
        rows.whole("since_day"),
        rows.whole("cycles"),
        rows.whole("counted_day"),
        rows.whole("retired_day"),
        rows.flags("is_loan"),
        np.array(rows.words("code"), dtype="S7"),
    )


def columns_of_stays() -> dict[str, Any]:
    """Name the columns of jobs that tell stays and returns."""
    return {
        "handpiece": "handpiece_id",
        "reason": _place("reason", REASONS),
        "stage": _place("stage", STAGES),
        "taken_in_s": EpochSecond("taken_in_at"),
        "ended_s": _known(EpochSecond("ended_at")),
    }


def columns_of_days() -> dict[str, Any]:
    """Name the columns of handpieces that bound their observation."""
    return {
        "counted_day": _known(EpochDay("known_cycles_on")),
        "retired_day": _known(EpochDay("retired_on")),
    }


def read_offices(words: Words) -> Offices:
    """Read all offices; one query."""
    rows = columns_of(Office.objects.all(), zone="time_zone", is_active=_flag("is_active"))
    return Offices(rows.pk, codes_of(rows.words("zone"), words.zones), rows.flags("is_active"))


def read_visits() -> Visits:
    """Read the visits that stand; one query."""
    rows = columns_of(
        Visit.objects.standing(),
        office="office_id",
        on_day=EpochDay("visited_on"),
        was_training=_flag("was_training"),
    )
    return Visits(rows.pk, rows.whole("office"), rows.whole("on_day"), rows.flags("was_training"))


def _causes(jobs: Whole, words: Words, spans: Sequence[Span] | None) -> NDArray[np.int16]:
    """Give the settled cause of each job, the one written last where several stand."""
    rows = columns_of(
        _within(ConfirmedCause.objects.all(), "job_id", spans),
        job="job_id",
        key="cause_key",
        corrects=_known("corrects_id"),
        is_taken_back=_flag("is_taken_back"),
    )
    stands = _standing(rows)
    return _put(
        -1, jobs, rows.whole("job")[stands], codes_of(rows.words("key"), words.causes)[stands]
    )


def _agreed(
    jobs: Whole, words: Words, spans: Sequence[Span] | None
) -> tuple[_Prices, NDArray[np.bool_]]:
    """Give for each job the option agreed to, and whether there is one.

    An option that was corrected after the answer counts as it was corrected.
    """
    rows = columns_of(
        _within(EstimateAnswer.objects.filter(option__isnull=False), "job_id", spans),
        job="job_id",
        option="option_id",
        **_columns_of_price("option__"),
    )
    answers = columns_of(
        _within(EstimateAnswer.objects.all(), "job_id", spans),
        corrects=_known("corrects_id"),
        is_taken_back=_flag("is_taken_back"),
    )
    stands = np.isin(rows.pk, answers.pk[_standing(answers)])
    prices = _prices(rows, words)
    stands &= _corrected(rows.whole("option"), prices, words, spans)
    job = rows.whole("job")[stands]
    put = _Prices(
        _put(-1, jobs, job, prices.kind[stands]),
        _put(0, jobs, job, prices.hundredths[stands]),
        _put(-1, jobs, job, prices.currency[stands]),
        _put(0, jobs, job, prices.months[stands]),
    )
    return put, put.kind >= 0


def _corrected(
    options: Whole, prices: _Prices, words: Words, spans: Sequence[Span] | None
) -> NDArray[np.bool_]:
    """Put corrected options in the place of the old ones; false where one was taken back."""
    rows = columns_of(
        _within(EstimateOption.objects.filter(corrects__isnull=False), "job_id", spans),
        corrects="corrects_id",
        is_taken_back=_flag("is_taken_back"),
        **_columns_of_price(),
    )
    later, is_gone, new = rows.whole("corrects"), rows.flags("is_taken_back"), _prices(rows, words)
    row_of = {option: row for row, option in enumerate(later.tolist())}
    holds = np.ones(options.size, dtype=np.bool_)
    for place in np.flatnonzero(np.isin(options, later)):
        row = row_of[int(options[place])]
        while int(rows.pk[row]) in row_of:
            row = row_of[int(rows.pk[row])]
        holds[place] = not is_gone[row]
        prices.kind[place] = new.kind[row]
        prices.hundredths[place] = new.hundredths[row]
        prices.currency[place] = new.currency[row]
        prices.months[place] = new.months[row]
    return holds


def _columns_of_price(prefix: str = "") -> dict[str, Any]:
    """Name what an option is read by: its kind, and its price with tax in whole hundredths."""
    parts, labour, tax = (F(f"{prefix}{name}_{of}") for name, of in PRICES)
    return {
        "kind": _place(f"{prefix}kind", KINDS),
        "hundredths": Cast(Round((parts + labour + tax) * 100), BigIntegerField()),
        "currency": f"{prefix}currency",
        "months": f"{prefix}warranty_months",
    }


def _prices(rows: Columns, words: Words) -> _Prices:
    return _Prices(
        rows.whole("kind").astype(np.int8),
        rows.whole("hundredths"),
        codes_of(rows.words("currency"), words.currencies),
        rows.whole("months").astype(np.int16),
    )


def _standing(entries: Columns) -> NDArray[np.bool_]:
    """Tell which entries hold: not corrected since, and not taken back."""
    corrected = entries.whole("corrects")
    return ~(np.isin(entries.pk, corrected) | entries.flags("is_taken_back"))


def _put(without: int, jobs: Whole, keys: Whole, values: NDArray[Any]) -> NDArray[Any]:
    """Give a column with values in the rows of their jobs; where a job has several, the last."""
    column = np.full(jobs.size, without, dtype=values.dtype)
    places = np.searchsorted(jobs, keys)
    # A job that another writer added since the jobs were read comes with the next reading.
    there = np.flatnonzero(places < jobs.size)
    there = there[jobs[places[there]] == keys[there]]
    column[places[there]] = values[there]
    return column


def _within(rows: QuerySet[RowT], key: str, spans: Sequence[Span] | None) -> QuerySet[RowT]:
    if spans is None:
        return rows
    wanted = Q(pk__in=[])
    for span in spans:
        wanted |= Q(**{f"{key}__gte": span.first, f"{key}__lt": span.end})
    return rows.filter(wanted)


def _place(column: str, words: Iterable[str]) -> Case:
    """Give the place of a column's word in a list, reckoned by the database."""
    cases = [When(**{column: word}, then=Value(place)) for place, word in enumerate(words)]
    return Case(*cases, default=Value(-1), output_field=IntegerField())


def _flag(column: str) -> Cast:
    return Cast(column, IntegerField())


def _known(column: str | EpochDay | EpochSecond) -> Coalesce:
    return Coalesce(column, Value(UNKNOWN))
