"""Pages of intakes: files dropped at a sterilizer, and how far reading them is."""

from django.contrib import messages
from django.db.models import Count
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from turnwell.errors import TurnwellError
from turnwell.web.evidence.uploads import upload_refusal
from turnwell.web.shared.access import person, shop_only
from turnwell.web.shared.forms import sentence
from turnwell.web.sterilizers.actions import add_files, begin_intake
from turnwell.web.sterilizers.actions.intake import Arrived
from turnwell.web.sterilizers.background import go_on
from turnwell.web.sterilizers.forms.records import FilesForm
from turnwell.web.sterilizers.models import Intake, IntakeFile, Sterilizer
from turnwell.web.sterilizers.page import page_of
from turnwell.web.sterilizers.progress import progress_of

__all__ = ["files_more", "files_new", "intake"]


@shop_only
@require_POST
def files_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Take in files at a sterilizer."""
    row = get_object_or_404(Sterilizer.objects.select_related("office"), pk=pk)
    form = FilesForm(request.POST, request.FILES)
    refusal = upload_refusal(request)
    if refusal is not None:
        form.add_error(None, sentence(refusal))
    elif form.is_valid():
        begun = begin_intake(by=person(request), sterilizer=row)
        return _taken_in(request, begun, form)
    if _is_asked_by_script(request):
        return JsonResponse({"refused": _said(form)}, status=400)
    context = {"sterilizer": row, "page": page_of(row, person(request)), "form": form}
    return render(request, "sterilizers/sterilizer.html", context, status=400)


@shop_only
@require_POST
def files_more(request: HttpRequest, pk: int) -> HttpResponse:
    """Take in more files of the same intake."""
    begun = get_object_or_404(Intake.objects.select_related("sterilizer__office"), pk=pk)
    form = FilesForm(request.POST, request.FILES)
    refusal = upload_refusal(request)
    if refusal is not None:
        form.add_error(None, sentence(refusal))
    elif form.is_valid():
        return _taken_in(request, begun, form)
    if _is_asked_by_script(request):
        return JsonResponse({"refused": _said(form)}, status=400)
    return _shown(request, begun, form, status=400)


@shop_only
@require_safe
def intake(request: HttpRequest, pk: int) -> HttpResponse:
    """Show how far an intake is; reading goes on if it had stopped."""
    begun = get_object_or_404(
        Intake.objects.select_related("sterilizer__office", "begun_by"), pk=pk
    )
    return _shown(request, begun, FilesForm())


def _taken_in(request: HttpRequest, begun: Intake, form: FilesForm) -> HttpResponse:
    """Keep the files of a valid form and lead to the intake."""
    files = [Arrived(file.name or "", file) for file in form.arrived()]
    try:
        add_files(by=person(request), intake=begun, files=files)
    except TurnwellError as error:
        if _is_asked_by_script(request):
            return JsonResponse({"refused": sentence(error)}, status=507)
        messages.error(request, sentence(error))
    go_on()
    if _is_asked_by_script(request):
        return JsonResponse({"intake": begun.pk, "address": begun.get_absolute_url()})
    return redirect(begun)


def _shown(
    request: HttpRequest, begun: Intake, form: FilesForm, *, status: int = 200
) -> HttpResponse:
    counts = dict(begun.files.order_by().values_list("state").annotate(Count("pk")))
    progress = progress_of(counts)
    if progress.to_do:
        go_on()
    state = IntakeFile.State
    asking = list(begun.files.filter(state=state.ASKS))
    same = sum(_shape(file) == _shape(asking[0]) for file in asking)
    context = {
        "intake": begun,
        "sterilizer": begun.sterilizer,
        "form": form,
        "progress": progress,
        "asking": asking[0] if asking else None,
        "same_shape": same,
        "other_shapes": len(asking) - same,
        "refused": begun.files.filter(state=state.REFUSED)[:100],
        "read": begun.files.filter(state=state.READ, record__isnull=False)
        .select_related("record")
        .defer("record__review", "proposal")
        .order_by("-since")[:20],
    }
    return render(request, "sterilizers/intake.html", context, status=status)


def _shape(file: IntakeFile) -> str:
    """Give the signature of a file that asks; files of one shape are confirmed together."""
    return str((file.proposal or {}).get("layout", {}).get("signature", ""))


def _is_asked_by_script(request: HttpRequest) -> bool:
    return request.headers.get("Accept", "").startswith("application/json")


def _said(form: FilesForm) -> str:
    """Give the first thing that is wrong with a form as one sentence."""
    return next(str(error) for errors in form.errors.values() for error in errors)
