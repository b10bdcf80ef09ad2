"""Pages that correct an entry by a new one, or take it back."""

from collections.abc import Callable
from functools import partial
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.views.decorators.http import require_http_methods

from turnwell.web.jobs import actions
from turnwell.web.jobs.actions.writing import job_of
from turnwell.web.jobs.forms.base import CorrectionForm, JobForm, corrected
from turnwell.web.jobs.forms.bench import NoteForm, PartForm, RunInForm
from turnwell.web.jobs.forms.checking import TachometerForm
from turnwell.web.jobs.forms.estimating import OptionForm
from turnwell.web.jobs.forms.testing import MeasurementForm, SetUpForm
from turnwell.web.jobs.history import CORRECTABLE, says
from turnwell.web.jobs.measurands import measurand
from turnwell.web.jobs.models import (
    EstimateOption,
    Job,
    JobNote,
    Measurement,
    PartUsed,
    RunIn,
    TachometerReading,
    Test,
)
from turnwell.web.jobs.tests_on_file import standing_tests
from turnwell.web.jobs.views.entry import FormPage, answer_form, job_or_404
from turnwell.web.jobs.views.testing import label_warning
from turnwell.web.shared.access import shop_only
from turnwell.web.shared.entries import Entry

__all__ = ["correct", "take_back"]

ANCHORS = {
    "test": "received",
    "measurement": "received",
    "recording": "received",
    "tachometer": "received",
    "finding": "findings",
    "cause": "causes",
    "option": "estimate",
    "part": "rebuild",
    "run-in": "rebuild",
    "note": "notes",
}


@require_http_methods(["GET", "POST"])
@shop_only
def correct(request: HttpRequest, code: str, kind: str, pk: int) -> HttpResponse:
    """Write an entry anew, in place of a wrong one."""
    job = job_or_404(request, code)
    entry = _entry(job, kind, pk)
    if entry.__class__ not in REWRITES:
        raise Http404("This kind of entry is written anew on its own page.")
    make, act, given = REWRITES[entry.__class__](job, entry)
    page = FormPage(
        "Correct an entry",
        "Save the correction",
        ANCHORS[kind],
        "Corrected; the old entry stays on record.",
        template="jobs/correct.html",
        more={"entry": entry, "says": says(entry), "kind": kind},
        warns=label_warning,
    )
    return answer_form(
        request, job, page, partial(corrected, make), partial(_rewrite, act, entry), **given
    )


@require_http_methods(["GET", "POST"])
@shop_only
def take_back(request: HttpRequest, code: str, kind: str, pk: int) -> HttpResponse:
    """Take an entry back."""
    job = job_or_404(request, code)
    entry = _entry(job, kind, pk)
    page = FormPage(
        "Take an entry back",
        "Take it back",
        ANCHORS[kind],
        "Taken back; it stays on record.",
        template="jobs/correct.html",
        more={"entry": entry, "says": says(entry)},
    )
    return answer_form(request, job, page, CorrectionForm, actions.take_back, entry=entry)


def _rewrite(act: Callable[..., object], entry: Entry, *, reason: str, **typed: Any) -> object:
    return act(correction=actions.Correction(entry, reason), **typed)


def _entry(job: Job, kind: str, pk: int) -> Entry:
    """Give an entry of a job that holds."""
    if kind not in CORRECTABLE:
        raise Http404("There is no such kind of entry.")
    entry = CORRECTABLE[kind]._default_manager.filter(pk=pk).first()
    if not isinstance(entry, Entry) or job_of(entry).pk != job.pk:
        raise Http404("There is no such entry of this job.")
    return entry


Rewrite = tuple[Callable[..., JobForm], Callable[..., object], dict[str, Any]]


def _test(job: Job, entry: Test) -> Rewrite:
    given = {"job": job, "when": Test.When(entry.when)}
    return partial(SetUpForm, like=entry), actions.add_test, given


def _measurement(job: Job, entry: Measurement) -> Rewrite:
    """Hang the corrected value on the test that holds now."""
    tests = [record.test for record in standing_tests(job) if entry in record.measurements]
    if not tests:
        raise Http404("The test of this measurement was taken back.")
    row = measurand(entry.reading_key)
    return (
        partial(MeasurementForm, row=row, old=entry),
        actions.add_measurement,
        {"test": tests[0]},
    )


def _tachometer(_job: Job, entry: TachometerReading) -> Rewrite:
    given = {"recording": entry.recording}
    return partial(TachometerForm, old=entry), actions.add_tachometer_reading, given


def _of_the_job(form: type[JobForm], act: Callable[..., object]) -> Callable[..., Rewrite]:
    def rewrite(job: Job, entry: Entry) -> Rewrite:
        return partial(form, old=entry), act, {"job": job}

    return rewrite


REWRITES: dict[type[Entry], Callable[..., Rewrite]] = {
    Test: _test,
    Measurement: _measurement,
    TachometerReading: _tachometer,
    EstimateOption: _of_the_job(OptionForm, actions.add_option),
    PartUsed: _of_the_job(PartForm, actions.use_part),
    RunIn: _of_the_job(RunInForm, actions.write_run_in),
    JobNote: _of_the_job(NoteForm, actions.write_note),
}
