"""Pages of the estimate: its options, and the office's answer."""

from functools import partial

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_http_methods

from turnwell.web.jobs import actions
from turnwell.web.jobs.forms.estimating import AnswerForm, OptionForm
from turnwell.web.jobs.views.entry import FormPage, answer_form, job_or_404
from turnwell.web.shared.access import person, shop_only

__all__ = ["answer", "option_new"]

OPTION = FormPage(
    "An option of the estimate",
    "Save the option",
    "estimate",
    "Option saved.",
    template="jobs/option.html",
)
ANSWER = FormPage("The office’s answer", "Save the answer", "estimate", "Answer saved.")


@require_http_methods(["GET", "POST"])
@shop_only
def option_new(request: HttpRequest, code: str) -> HttpResponse:
    """Write one option of the estimate."""
    job = job_or_404(request, code)
    return answer_form(request, job, OPTION, OptionForm, actions.add_option, job=job)


@require_http_methods(["GET", "POST"])
def answer(request: HttpRequest, code: str) -> HttpResponse:
    """Write down the office's answer; people of the office answer for themselves."""
    job = job_or_404(request, code)
    by = person(request)
    make = partial(AnswerForm, initial={} if by.is_shop else {"answered_by": str(by)})
    return answer_form(request, job, ANSWER, make, actions.answer_estimate, job=job)
