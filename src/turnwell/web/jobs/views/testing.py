"""Pages of a test: its set-up, why it is left out, what is measured."""

from functools import partial

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET, require_http_methods

from turnwell.catalogue import load
from turnwell.web.jobs import actions
from turnwell.web.jobs.analysis.label_pressure import is_at_label, label_pressure_kpa
from turnwell.web.jobs.forms.testing import LeaveOutForm, MeasurementForm, SetUpForm
from turnwell.web.jobs.measurands import MEASURANDS, Measurand
from turnwell.web.jobs.models import Job, Test
from turnwell.web.jobs.tests_on_file import TestOnFile, standing_tests
from turnwell.web.jobs.views.entry import CAUTIONS, FormPage, answer_form, job_or_404
from turnwell.web.shared.access import shop_only
from turnwell.web.shared.quantities import pressure_unit
from turnwell.web.shop.queries import the_shop
from turnwell.words import Message, text_of

__all__ = [
    "label_warning",
    "leave_out",
    "measurable",
    "measure",
    "measure_one",
    "reading_name",
    "test_new",
]

RUNNING = ("eyes", "pressure", "noise")
CAUTIONS_OF = {
    "chuck_extraction_force": ("eyes",),
    "run_out": (),
    "spray_water_flow": ("pressure",),
    "spray_air_flow": ("pressure",),
}
WITHOUT_CHUCK = frozenset({"chuck_extraction_force", "run_out"})
WITHOUT_SPRAY = frozenset({"spray_water_flow", "spray_air_flow"})
AIR_ONLY = frozenset({"drive_air_pressure", "drive_air_consumption", "start_pressure"})


@require_http_methods(["GET", "POST"])
@shop_only
def test_new(request: HttpRequest, code: str, when: str) -> HttpResponse:
    """Begin a test with its set-up; the final one starts from that of the test as received."""
    job = job_or_404(request, code)
    time = _time(when)
    page = FormPage(
        f"Test {time.label.lower()}: the set-up",
        "Save the set-up",
        _anchor(time),
        "Set-up saved. Record the run, or measure.",
        cautions=RUNNING,
        template="jobs/set_up.html",
        more={"when": time, "is_final": time == Test.When.FINAL},
        warns=label_warning,
    )
    make = partial(SetUpForm, like=_like(job, time))
    return answer_form(request, job, page, make, actions.add_test, job=job, when=time)


@require_http_methods(["GET", "POST"])
@shop_only
def leave_out(request: HttpRequest, code: str, when: str) -> HttpResponse:
    """Write why a test is left out."""
    job = job_or_404(request, code)
    time = _time(when)
    page = FormPage(
        f"Leave the test {time.label.lower()} out",
        "Leave it out",
        _anchor(time),
        "Left out, with the reason.",
    )
    return answer_form(request, job, page, LeaveOutForm, actions.leave_out_test, job=job, when=time)


@require_GET
@shop_only
def measure(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    """Choose what to measure."""
    job = job_or_404(request, code)
    record = _test(job, pk)
    done = {row.reading_key for row in record.measurements}
    context = {
        "job": job,
        "test": record.test,
        "rows": [(row, reading_name(row.key), row.key in done) for row in measurable(job)],
        "caution": CAUTIONS["eyes"],
    }
    return render(request, "jobs/measure.html", context)


@require_http_methods(["GET", "POST"])
@shop_only
def measure_one(request: HttpRequest, code: str, pk: int, key: str) -> HttpResponse:
    """Write down what an instrument showed."""
    job = job_or_404(request, code)
    record = _test(job, pk)
    row = MEASURANDS.get(key)
    if row is None or row not in measurable(job):
        raise Http404("That is not measured on this handpiece.")
    page = FormPage(
        reading_name(key),
        "Save the values",
        _anchor(Test.When(record.test.when)),
        "Measured.",
        cautions=CAUTIONS_OF.get(key, RUNNING),
        template="jobs/measurement.html",
        more={"row": row, "test": record.test},
    )
    make = partial(MeasurementForm, row=row)
    return answer_form(request, job, page, make, actions.add_measurement, test=record.test)


def measurable(job: Job) -> list[Measurand]:
    """Give what can be measured on a job's handpiece."""
    kind = load().handpiece_class(job.handpiece.class_key)
    model = job.handpiece.model
    left_out: set[str] = set()
    if not kind.has_chuck:
        left_out |= WITHOUT_CHUCK
    if not kind.can_have_spray or (model is not None and not model.has_spray):
        left_out |= WITHOUT_SPRAY
    if kind.group == "attachment" or job.handpiece.class_key == "electric_motor":
        left_out |= AIR_ONLY
    return [row for key, row in MEASURANDS.items() if key not in left_out]


def reading_name(key: str) -> str:
    """Give the name of a reading as pages say it."""
    return text_of(Message(f"reading.{key}"))


def label_warning(made: object) -> str:
    """Say of a set-up just saved that it is not at the label pressure; empty where it is."""
    if not isinstance(made, Test) or made.drive_pressure_kpa is None:
        return ""
    label = label_pressure_kpa(made.job.handpiece)
    if label is None or is_at_label(made.drive_pressure_kpa, label):
        return ""
    unit = pressure_unit(the_shop().pressure_unit)
    said = {"tested": unit.says(made.drive_pressure_kpa), "label": unit.says(label)}
    return text_of(Message("jobs.set_away_from_label", said))


def _time(when: str) -> Test.When:
    if when not in Test.When.values:
        raise Http404("There is no such test.")
    return Test.When(when)


def _anchor(time: Test.When) -> str:
    return "received" if time == Test.When.AS_RECEIVED else "proof"


def _test(job: Job, pk: int) -> TestOnFile:
    for record in standing_tests(job):
        if record.test.pk == pk and not record.test.left_out_because:
            return record
    raise Http404("There is no such test to measure in.")


def _like(job: Job, time: Test.When) -> Test | None:
    """Give the test whose set-up the new one begins with: the last as received for a final one."""
    made = [record.test for record in standing_tests(job) if not record.test.left_out_because]
    wanted = Test.When.AS_RECEIVED if time == Test.When.FINAL else time
    return next((test for test in reversed(made) if test.when == wanted), None)
