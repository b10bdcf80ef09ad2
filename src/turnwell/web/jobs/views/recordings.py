"""Pages of recordings: take one, look at one, listen to one again."""

from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from turnwell.errors import InputError, TurnwellError
from turnwell.measure import Reading
from turnwell.web.evidence.actions import may_erase
from turnwell.web.evidence.bounded import BusyError
from turnwell.web.evidence.storage import CannotKeepError
from turnwell.web.evidence.uploads import upload_refusal
from turnwell.web.jobs.actions import add_tachometer_reading
from turnwell.web.jobs.actions.recordings import analyse_again, keep_recording
from turnwell.web.jobs.analysis.own_check import check_beside
from turnwell.web.jobs.forms.checking import TachometerForm
from turnwell.web.jobs.forms.recordings import RecordingForm
from turnwell.web.jobs.models import Job, Recording, Test
from turnwell.web.jobs.tests_on_file import standing_tests
from turnwell.web.jobs.views.entry import job_or_404
from turnwell.web.shared.access import person, shop_only
from turnwell.web.shared.forms import carry_out, sentence
from turnwell.words import text_of

__all__ = ["again", "record", "recording_page", "tachometer_new"]

SPEEDS = ("free_running_speed", "speed_heard")


@dataclass(frozen=True, slots=True)
class Answer:
    """What a page says about a recording.

    Parameters
    ----------
    recording : Recording
    speed : Reading or None
        The first thing wanted of it.
    others : list of Reading
        The rest.
    """

    recording: Recording
    speed: Reading | None
    others: list[Reading]

    @property
    def flaws(self) -> list[str]:
        """What is wrong with the recording, unless it is the reason already given."""
        found = (self.recording.listening or {}).get("gate", [])
        why = text_of(self.speed.why) if self.speed else ""
        return [flaw["message"] for flaw in found if flaw["message"] != why]

    @property
    def lost_s(self) -> float:
        """Seconds of sound that the browser lost while recording."""
        said = self.recording.browser_settings
        rate_hz = said.get("contextRate") or 0
        return said.get("lostFrames", 0) / rate_hz if rate_hz else 0.0


@require_http_methods(["GET", "POST"])
@shop_only
def record(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    """Show the recorder of a test; take in what it or a person sends."""
    job = job_or_404(request, code)
    test = _test(job, pk)
    if request.method != "POST":
        return render(request, "jobs/record.html", {"job": job, "test": test})
    try:
        recording = _kept(request, test)
    except TurnwellError as error:
        return _refused(request, job, test, error)
    return _received(request, job, recording)


@require_GET
def recording_page(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    """Show a recording: what it tells, how it was made, its file."""
    job = job_or_404(request, code)
    return _recording_shown(request, job, _recording(job, pk))


@require_POST
@shop_only
def tachometer_new(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    """Write down what a tachometer showed while a recording was made."""
    job = job_or_404(request, code)
    recording = _recording(job, pk)
    form = TachometerForm(request.POST, job=job)
    if form.is_valid():
        written = carry_out(
            form,
            add_tachometer_reading,
            by=person(request),
            recording=recording,
            **form.arguments(),
        )
        if written is not None:
            messages.success(request, f"{written} stands beside this recording.")
            return redirect("recording", code=job.code, pk=pk)
    return _recording_shown(request, job, recording, form, status=400)


@require_POST
@shop_only
def again(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    """Listen to a recording again."""
    job = job_or_404(request, code)
    try:
        analyse_again(by=person(request), recording=_recording(job, pk))
    except TurnwellError as error:
        messages.error(request, sentence(error))
    else:
        messages.success(request, "Listened to again, with what is known by now.")
    return redirect("recording", code=job.code, pk=pk)


def _recording_shown(
    request: HttpRequest,
    job: Job,
    recording: Recording,
    form: TachometerForm | None = None,
    *,
    status: int = 200,
) -> HttpResponse:
    by = person(request)
    context = _said(job, recording) | {
        "may_write": by.is_shop,
        "holds": not recording.is_taken_back and not hasattr(recording, "corrected_by"),
        "may_erase": may_erase(by, recording.file),
    }
    if by.is_shop:
        context["check"] = check_beside(recording)
        context["tachometer_form"] = form or TachometerForm(job=job)
    return render(request, "jobs/recording.html", context, status=status)


def _kept(request: HttpRequest, test: Test) -> Recording:
    """Keep what was sent.

    Raises
    ------
    InputError
        If what was sent is wrong, dropped on its way in or not sent at all.
    """
    form = RecordingForm(request.POST, request.FILES)
    if (dropped := upload_refusal(request)) is not None:
        raise dropped
    if not form.is_valid():
        raise InputError(" ".join(str(text) for field in form.errors.values() for text in field))
    sent = form.cleaned_data["file"]
    return keep_recording(
        by=person(request),
        test=test,
        content=sent,
        original_name=sent.name,
        source=form.cleaned_data["source"],
        browser_settings=form.cleaned_data["settings"],
    )


def _refused(request: HttpRequest, job: Job, test: Test, error: TurnwellError) -> HttpResponse:
    """Say why nothing was kept; 503 where the same may be sent again, 422 where it may not."""
    status = 503 if isinstance(error, CannotKeepError | BusyError) else 422
    if _asks_for_part(request):
        return JsonResponse({"says": sentence(error)}, status=status)
    context = {"job": job, "test": test, "says": sentence(error)}
    return render(request, "jobs/record.html", context, status=status)


def _received(request: HttpRequest, job: Job, recording: Recording) -> HttpResponse:
    """Answer the recorder with what was heard, a plain form with the recording's page."""
    if not _asks_for_part(request):
        return redirect("recording", code=job.code, pk=recording.pk)
    job.refresh_from_db(fields=["version"])
    return render(request, "jobs/recording_answer.html", _said(job, recording), status=201)


def _asks_for_part(request: HttpRequest) -> bool:
    return request.headers.get("X-Part") == "answer"


def _said(job: Job, recording: Recording) -> dict[str, Any]:
    readings = [row.reading for row in recording.readings.all()]
    speed = next((reading for reading in readings if reading.key in SPEEDS), None)
    answer = Answer(recording, speed, [reading for reading in readings if reading is not speed])
    return {"job": job, "recording": recording, "answer": answer}


def _test(job: Job, pk: int) -> Test:
    for record in standing_tests(job):
        if record.test.pk == pk and not record.test.left_out_because:
            return record.test
    raise Http404("There is no such test to record.")


def _recording(job: Job, pk: int) -> Recording:
    rows = Recording.objects.select_related("file__erased_by", "entered_by", "test__job")
    recording = rows.filter(test__job=job, pk=pk).first()
    if recording is None:
        raise Http404("There is no such recording of this job.")
    return recording
