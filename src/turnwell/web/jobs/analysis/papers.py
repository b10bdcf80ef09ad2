"""Gathers from the records of a job what goes onto its papers."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from functools import partial
from typing import Any, TypeAlias

from turnwell import papers, pictures
from turnwell.catalogue import load
from turnwell.measure import Reading
from turnwell.web.accounts.models import User
from turnwell.web.handpieces.names import cause_name, class_name, complaints_said
from turnwell.web.jobs.analysis.compare import comparison, last_readings
from turnwell.web.jobs.models import EstimateAnswer, EstimateOption, Job, RunIn, Test
from turnwell.web.jobs.reading_groups import is_further, may_stay_open
from turnwell.web.jobs.records import JobRecords
from turnwell.web.jobs.said import said_in
from turnwell.web.jobs.tests_on_file import TestOnFile
from turnwell.web.lives.analysis.worth import Priced, worth_lines, worth_of_job
from turnwell.web.lives.records import shop_records
from turnwell.web.shared.codes import code_shown
from turnwell.web.shared.labels import link_of
from turnwell.web.shared.quantities import pressure_unit
from turnwell.web.shared.times import shown_in_zone
from turnwell.web.shop.models import Shop

__all__ = ["estimate_values", "sheet_values", "tests_for_the_sheet"]

Document: TypeAlias = Mapping[str, Any]


def sheet_values(job: Job, *, shop: Shop, by: User, at: datetime) -> papers.TestSheet:
    """Give what goes onto the test sheet of a job as it stands."""
    records = JobRecords(job)
    before, after = tests_for_the_sheet(records)
    compared = comparison(before, after) if before and after else None
    differences = compared.differences if compared else ()
    in_units = partial(pictures.in_units, wanted=shop.units)
    return papers.TestSheet(
        shop=_shop_head(shop),
        job=_job_facts(job),
        issued_at=shown_in_zone(at, job.office.time_zone),
        issued_by=str(by),
        before=_set_up(before, job, shop),
        after=_set_up(after, job, shop),
        differences=differences,
        pairs=tuple(
            _pair(first and in_units(first), second and in_units(second))
            for first, second in _pairs(before, after)
            if not any(one is not None and is_further(one) for one in (first, second))
        ),
        trace=_trace(before, after, is_comparable=not differences),
        coast=pictures.coast_trace(*_documents(before, after, is_comparable=not differences)),
        orders=pictures.order_picture(*_documents(before, after, is_comparable=not differences)),
        said=_said(before, after),
        findings=_findings(records),
        done=_done(records, shop),
        cause=_cause(records),
        advice=_advice(records),
        cautions=_cautions(records),
    )


def estimate_values(job: Job, *, shop: Shop, by: User, at: datetime) -> papers.EstimateSheet:
    """Give what goes onto the estimate of a job as it stands.

    Raises
    ------
    InputError
        If the job has no option yet.
    """
    records = JobRecords(job)
    options = records.options
    priced = [Priced.of(option) for option in options]
    worth = worth_of_job(shop_records(at), job, priced)
    return papers.EstimateSheet(
        shop=_shop_head(shop),
        job=_job_facts(job),
        issued_at=shown_in_zone(at, job.office.time_zone),
        issued_by=str(by),
        currency=options[0].currency if options else shop.currency,
        tax_name=shop.tax_name,
        options=tuple(
            _option(option, worth_lines(one))
            for option, one in zip(options, worth.options, strict=True)
        ),
        findings=_findings(records),
        cause=_cause(records),
        answer=_answered(records.answer, job),
        compared=worth.says if len(options) > 1 else "",
    )


def tests_for_the_sheet(records: JobRecords) -> tuple[TestOnFile | None, TestOnFile | None]:
    """Give the last test as received and the last final one that answer anything."""
    return (
        _last_answering(records.tests_of(Test.When.AS_RECEIVED)),
        _last_answering(records.tests_of(Test.When.FINAL)),
    )


def _last_answering(tests: Sequence[TestOnFile]) -> TestOnFile | None:
    answering = [test for test in tests if test.answers]
    with_readings = [test for test in answering if test.readings]
    return next(iter(reversed(with_readings or answering)), None)


def _pair(first: Reading | None, second: Reading | None) -> papers.Pair:
    either = second or first
    return papers.Pair(first, second, either is not None and may_stay_open(either.key))


def _pairs(
    before: TestOnFile | None, after: TestOnFile | None
) -> list[tuple[Reading | None, Reading | None]]:
    """Give the readings side by side: in the order of the final test, then what it lacks."""
    first = last_readings(before.readings) if before else {}
    second = last_readings(after.readings) if after else {}
    keys = [*second, *(key for key in first if key not in second)]
    return [(first.get(key), second.get(key)) for key in keys]


def _shop_head(shop: Shop) -> papers.ShopHead:
    return papers.ShopHead(shop.name, shop.address, shop.phone, shop.email)


def _job_facts(job: Job) -> papers.JobFacts:
    handpiece = job.handpiece
    kind = class_name(handpiece.class_key)
    return papers.JobFacts(
        code=code_shown(job.code),
        link=link_of(job.code),
        handpiece=str(handpiece.model) if handpiece.model else code_shown(handpiece.code),
        kind=kind,
        serial=handpiece.serial,
        office=job.office.name,
        chair=handpiece.chair.name if handpiece.chair else "",
        complaint=job.complaint_words.strip() or complaints_said(job.complaints),
        taken_in=shown_in_zone(job.taken_in_at, job.office.time_zone).date(),
    )


def _pressure(kept_kpa: float, shop: Shop) -> str:
    return pressure_unit(shop.pressure_unit).says(kept_kpa)


def _set_up(record: TestOnFile | None, job: Job, shop: Shop) -> papers.SetUp | None:
    """Give how a test was set up, what was not written down left out."""
    if record is None:
        return None
    test = record.test
    spray = {True: "on", False: "off", None: ""}[test.is_spray_on]
    mounted = ", ".join(filter(None, (test.get_mounted_display(), test.mounted_note)))
    pressure = test.drive_pressure_kpa
    lines = (
        ("Drive pressure, running", "" if pressure is None else _pressure(pressure, shop)),
        ("Gauge", str(test.pressure_gauge or "")),
        ("In the chuck", mounted),
        ("Spray", spray),
        ("Stand", test.stand),
        ("Microphone", str(test.microphone or "")),
        ("Instruments", ", ".join(_instruments(record))),
    )
    return papers.SetUp(
        on=shown_in_zone(test.entered_at, job.office.time_zone).date(),
        lines=tuple((name, value) for name, value in lines if value),
        left_out_because=test.left_out_because,
    )


def _instruments(record: TestOnFile) -> list[str]:
    """Name the instruments that were read, each once."""
    names = (str(one.instrument or one.instrument_note) for one in record.measurements)
    return list(dict.fromkeys(name for name in names if name))


def _trace(
    before: TestOnFile | None, after: TestOnFile | None, *, is_comparable: bool
) -> pictures.SpeedTraceChart | None:
    """Give the speed trace of the later test, over the earlier one's where they compare."""
    documents = _documents(before, after, is_comparable=is_comparable)
    return pictures.speed_trace(*map(pictures.SpeedTrace.from_listening, documents))


def _documents(
    before: TestOnFile | None, after: TestOnFile | None, *, is_comparable: bool
) -> tuple[Document | None, Document | None]:
    """Give what was heard in the later test, and in the earlier one where they compare."""
    first, second = _heard(before), _heard(after)
    return second, first if is_comparable or second is None else None


def _said(before: TestOnFile | None, after: TestOnFile | None) -> tuple[tuple[str, str], ...]:
    """Give the sentences of the later test, of the earlier one where there is no later."""
    return tuple((one.topic, one.text) for one in said_in(_heard(after) or _heard(before)))


def _heard(record: TestOnFile | None) -> Document | None:
    recording = record.heard if record else None
    return recording.listening if recording else None


def _findings(records: JobRecords) -> tuple[papers.FindingLine, ...]:
    return tuple(
        papers.FindingLine(finding.name, finding.is_seen, finding.row.note)
        for finding in records.findings
    )


def _done(records: JobRecords, shop: Shop) -> tuple[str, ...]:
    parts = [
        f"{part.name}{'' if part.quantity == 1 else f', {part.quantity.normalize():f}'}"
        f"{', ' if part.note else ''}{part.note}"
        for part in records.parts
    ]
    return (*parts, *(_run_in(run_in, shop) for run_in in records.run_ins))


def _run_in(run_in: RunIn, shop: Shop) -> str:
    pressure = run_in.drive_pressure_kpa
    at = "" if pressure is None else f" at {_pressure(pressure, shop)}"
    return f"Run in {run_in.minutes:g} min{at}"


def _cause(records: JobRecords) -> papers.CauseNamed | None:
    cause = records.cause
    if cause is None:
        return None
    fact = load().causes.get(cause.cause_key)
    return papers.CauseNamed(
        name=cause_name(cause.cause_key),
        explanation=fact.what_happens if fact else "",
        words=cause.words,
        contributing=tuple(records.contributing),
    )


def _cause_keys(records: JobRecords) -> list[str]:
    """Give the main cause and then what contributed."""
    cause = records.cause
    return [] if cause is None else [cause.cause_key, *cause.contributing]


def _advice(records: JobRecords) -> tuple[str, ...]:
    known = load().causes
    said = [known[key].office_action for key in _cause_keys(records) if key in known]
    return tuple(dict.fromkeys(text for text in said if text))


def _cautions(records: JobRecords) -> tuple[str, ...]:
    known = load().causes
    said = [known[key].caution for key in _cause_keys(records) if key in known]
    return tuple(dict.fromkeys(text for text in said if text))


def _option(option: EstimateOption, worth: tuple[str, ...]) -> papers.Option:
    return papers.Option(
        name=option.get_kind_display(),
        words=option.words,
        parts=option.parts_price,
        labour=option.labour_price,
        tax=option.tax_amount,
        total=option.total,
        tax_percent=option.tax_percent,
        warranty_months=option.warranty_months,
        worth=worth,
    )


def _answered(answer: EstimateAnswer | None, job: Job) -> papers.Answered | None:
    if answer is None:
        return None
    return papers.Answered(
        option=answer.option.get_kind_display() if answer.option else "",
        by=answer.answered_by,
        on=shown_in_zone(answer.answered_at, job.office.time_zone).date(),
        note=answer.note,
    )
