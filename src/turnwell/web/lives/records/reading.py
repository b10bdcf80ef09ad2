"""Reads the shop's rows into arrays: whole columns by few queries, no model for a row.

Corrections of an entry are entries of the same job, so rows of whole jobs hold all that is needed
to tell which entries stand.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, TypeVar

import numpy as np
from django.db.models import F, FloatField, Model, Q, QuerySet, Value
from django.db.models.functions import Cast, Coalesce
from numpy.typing import NDArray

from turnwell.web.handpieces.models import Handpiece
from turnwell.web.jobs.models import ConfirmedCause, EstimateAnswer, EstimateOption, Job
from turnwell.web.lives.records.columns import EpochDay, EpochSecond
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

__all__ = ["Span", "read_handpieces", "read_jobs", "read_offices", "read_visits"]

RowT = TypeVar("RowT", bound=Model)


@dataclass(frozen=True, slots=True)
class Span:
    """Primary keys from `first` to before `end`."""

    first: int
    end: int


def read_jobs(words: Words, spans: Sequence[Span] | None = None) -> Jobs:
    """Read all jobs, or those of some spans of keys; three queries, four once prices changed."""
    rows = _within(Job.objects.order_by("pk"), "pk", spans).values_list(
        "pk",
        "handpiece_id",
        "office_id",
        "reason",
        "stage",
        EpochSecond("taken_in_at"),
        _known(EpochSecond("ended_at")),
        _known("known_cycles"),
    )
    pk, handpiece, office, reason, stage, taken_in, ended, cycles = _columns(rows, 8)
    keys = _whole(pk)
    agreed = _agreed(keys, words, spans)
    return Jobs(
        keys,
        _whole(handpiece),
        _whole(office),
        _choices(reason, REASONS),
        _choices(stage, STAGES),
        _whole(taken_in),
        _whole(ended),
        _whole(cycles),
        _causes(keys, words, spans),
        *agreed,
    )


def read_handpieces(words: Words, spans: Sequence[Span] | None = None) -> Handpieces:
    """Read all handpieces, or those of some spans of keys; one query."""
    rows = _within(Handpiece.objects.order_by("pk"), "pk", spans).values_list(
        "pk",
        "class_key",
        "office_id",
        _known(EpochDay("in_service_since")),
        _known("known_cycles"),
        _known(EpochDay("known_cycles_on")),
        _known(EpochDay("retired_on")),
        "is_loan",
        "code",
    )
    pk, kind, office, since, cycles, counted, retired, is_loan, code = _columns(rows, 9)
    return Handpieces(
        _whole(pk),
        codes_of(kind, words.classes),
        _whole(office),
        _whole(since),
        _whole(cycles),
        _whole(counted),
        _whole(retired),
        np.array(is_loan, dtype=np.bool_),
        np.array(code, dtype="S7"),
    )


def read_offices(words: Words) -> Offices:
    """Read all offices; one query."""
    rows = Office.objects.order_by("pk").values_list("pk", "time_zone", "is_active")
    pk, zone, is_active = _columns(rows, 3)
    return Offices(_whole(pk), codes_of(zone, words.zones), np.array(is_active, dtype=np.bool_))


def read_visits() -> Visits:
    """Read the visits that stand; one query."""
    rows = (
        Visit.objects.standing()
        .order_by("pk")
        .values_list("pk", "office_id", EpochDay("visited_on"), "was_training")
    )
    pk, office, on_day, was_training = _columns(rows, 4)
    return Visits(
        _whole(pk), _whole(office), _whole(on_day), np.array(was_training, dtype=np.bool_)
    )


def _causes(jobs: Whole, words: Words, spans: Sequence[Span] | None) -> NDArray[np.int16]:
    """Give the settled cause of each job, the one written last where several stand."""
    rows = _within(ConfirmedCause.objects.order_by("pk"), "job_id", spans).values_list(
        "pk", "job_id", "cause_key", _known("corrects_id"), "is_taken_back"
    )
    pk, job, key, corrects, is_taken_back = _columns(rows, 5)
    stands = _standing(pk, corrects, is_taken_back)
    causes = np.full(jobs.size, -1, dtype=np.int16)
    _put(causes, jobs, _whole(job)[stands], codes_of(key, words.causes)[stands])
    return causes


def _agreed(
    jobs: Whole, words: Words, spans: Sequence[Span] | None
) -> tuple[NDArray[Any], NDArray[Any], NDArray[Any], NDArray[Any]]:
    """Give kind, price, currency and warranty of the option agreed to, as the last four columns.

    An option that was corrected after the answer counts as it was corrected.
    """
    answers = _within(EstimateAnswer.objects.order_by("pk"), "job_id", spans).values_list(
        "pk",
        "job_id",
        _known("corrects_id"),
        "is_taken_back",
        _known("option_id"),
        Coalesce("option__kind", Value("")),
        _price("option__"),
        Coalesce("option__currency", Value("")),
        Coalesce("option__warranty_months", Value(0)),
    )
    pk, job, corrects, is_taken_back, option, kind, total, currency, months = _columns(answers, 9)
    stands = _standing(pk, corrects, is_taken_back) & (_whole(option) != UNKNOWN)
    columns: list[NDArray[Any]] = [
        _choices(kind, (*KINDS, "")),
        np.array(total, dtype=np.float64),
        codes_of(currency, words.currencies),
        np.array(months, dtype=np.int16),
    ]
    stands &= _corrected(_whole(option), columns, words, spans)
    out: list[NDArray[Any]] = [
        np.full(jobs.size, -1, dtype=np.int8),
        np.full(jobs.size, np.nan),
        np.full(jobs.size, -1, dtype=np.int16),
        np.zeros(jobs.size, dtype=np.int16),
    ]
    for column, values in zip(out, columns, strict=True):
        _put(column, jobs, _whole(job)[stands], values[stands])
    return out[0], out[1], out[2], out[3]


def _corrected(
    options: Whole, columns: list[NDArray[Any]], words: Words, spans: Sequence[Span] | None
) -> NDArray[np.bool_]:
    """Put corrected options in the place of the old ones; false where one was taken back."""
    rows = _within(
        EstimateOption.objects.filter(corrects__isnull=False).order_by("pk"), "job_id", spans
    ).values_list(
        "corrects_id", "pk", "is_taken_back", "kind", _price(), "currency", "warranty_months"
    )
    later = {row[0]: row[1:] for row in rows}
    holds = np.ones(options.size, dtype=np.bool_)
    for place in np.flatnonzero(np.isin(options, _whole(later))):
        last = later[int(options[place])]
        while last[0] in later:
            last = later[last[0]]
        _, is_taken_back, kind, total, currency, months = last
        holds[place] = not is_taken_back
        columns[0][place] = KINDS.index(kind)
        columns[1][place] = total
        columns[2][place] = codes_of([currency], words.currencies)[0]
        columns[3][place] = months
    return holds


def _price(prefix: str = "") -> Cast:
    """Give what an option costs with tax, as a float: no Decimal is made for each row."""
    parts, labour, tax = (
        f"{prefix}{name}" for name in ("parts_price", "labour_price", "tax_amount")
    )
    return Cast(F(parts) + F(labour) + F(tax), FloatField())


def _standing(
    pk: Sequence[int], corrects: Sequence[int], is_taken_back: Sequence[bool]
) -> NDArray[np.bool_]:
    """Tell which entries hold: not corrected since, and not taken back."""
    gone = _whole(corrects)
    gone = gone[gone != UNKNOWN]
    return ~(np.isin(_whole(pk), gone) | np.array(is_taken_back, dtype=np.bool_))


def _put(column: NDArray[Any], jobs: Whole, keys: Whole, values: NDArray[Any]) -> None:
    """Write values to the rows of their jobs; where a job has several, the last."""
    places = np.searchsorted(jobs, keys)
    # A job that another writer added since the jobs were read comes with the next reading.
    there = np.flatnonzero(places < jobs.size)
    there = there[jobs[places[there]] == keys[there]]
    column[places[there]] = values[there]


def _within(rows: QuerySet[RowT], key: str, spans: Sequence[Span] | None) -> QuerySet[RowT]:
    if spans is None:
        return rows
    wanted = Q(pk__in=[])
    for span in spans:
        wanted |= Q(**{f"{key}__gte": span.first, f"{key}__lt": span.end})
    return rows.filter(wanted)


def _columns(rows: Iterable[Sequence[Any]], count: int) -> list[Sequence[Any]]:
    """Turn rows into columns."""
    return list(zip(*rows, strict=True)) or [()] * count


def _known(column: str | EpochDay | EpochSecond) -> Coalesce:
    return Coalesce(column, Value(UNKNOWN))


def _whole(values: Iterable[int]) -> Whole:
    return np.fromiter(values, dtype=np.int64)


def _choices(words: Iterable[str], known: Sequence[str]) -> NDArray[np.int8]:
    places = {word: place for place, word in enumerate(known)}
    return np.array([places[word] for word in words], dtype=np.int8)
