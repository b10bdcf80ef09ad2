"""The ranking of causes for a job, from its own records.

What a person answered outranks what a reading says; both outrank what the book fills in. What
nobody looked for counts as nothing.
"""

from typing import Any

from turnwell.catalogue import load
from turnwell.cause import (
    CAUSE_VERSION,
    Answers,
    Ladder,
    Table,
    findings_from_readings,
    rank,
    table_for,
)
from turnwell.measure import Reading
from turnwell.web.jobs.analysis.own_cases import office_counts, shop_counts
from turnwell.web.jobs.analysis.own_records import answers_from_records
from turnwell.web.jobs.models import Finding, Job, Stage, Test
from turnwell.web.jobs.tests_on_file import standing_tests

__all__ = ["answers_of", "ladder_of", "ladder_record"]

CLOSED = (Stage.TAKEN_IN, Stage.TESTED_AS_RECEIVED)


def ladder_record(job: Job) -> tuple[dict[str, Any], str]:
    """Rank the causes of a job: the ladder as JSON values, and the version of the core."""
    return ladder_of(job).as_record(), CAUSE_VERSION


def ladder_of(job: Job) -> Ladder:
    """Rank the causes of a job by all that is known of it."""
    table = _table(job)
    answers = answers_of(job, table)
    return rank(
        table,
        complaints=answers.complaints,
        seen=answers.seen,
        not_seen=answers.not_seen,
        is_open=None if job.stage in CLOSED else True,
    )


def answers_of(job: Job, table: Table) -> Answers:
    """Gather what is answered about a job, as far as the table of its class has a place for it."""
    findings = list(job.findings.standing())
    seen = [row.key for row in findings if row.answer == Finding.Answer.SEEN]
    by_people = Answers(
        complaints=tuple(job.complaints),
        seen=tuple(seen),
        not_seen=tuple(row.key for row in findings if row.answer == Finding.Answer.NOT_SEEN),
    )
    by_records = answers_from_records(job, frozenset(seen))
    answers = Answers(seen=by_records.seen, not_seen=by_records.not_seen)
    answers = answers.outranked_by(findings_from_readings(table, _readings(job)))
    return _within(table, answers.outranked_by(by_people))


def _table(job: Job) -> Table:
    handpiece = job.handpiece
    model = handpiece.model
    ratio = model.motor_turns_per_bur_turn if model else None
    return table_for(
        load(),
        handpiece.class_key,
        lubricated=model.lubricated if model else "not known",
        has_spray=model.has_spray if model else True,
        has_light=model.has_light if model else True,
        geared=None if ratio is None or ratio == 1.0 else True,
        counts=shop_counts(job),
        office_counts=office_counts(job),
    )


def _readings(job: Job) -> dict[str, Reading]:
    """Give the readings as received by key, a later one in place of an earlier."""
    return {
        row.key: row.reading
        for record in standing_tests(job)
        if record.test.when == Test.When.AS_RECEIVED
        for row in record.readings
    }


def _within(table: Table, answers: Answers) -> Answers:
    """Leave out what the table has no place for: a key the catalogue no longer has."""
    complaints = {row.key for row in table.complaints}
    findings = {row.key for row in table.findings}
    return Answers(
        complaints=tuple(key for key in answers.complaints if key in complaints),
        seen=tuple(key for key in answers.seen if key in findings),
        not_seen=tuple(key for key in answers.not_seen if key in findings),
    )
