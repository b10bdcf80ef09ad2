"""Pages of refusal: one sentence on what happened, what was kept, and what to do.

The plain one stands alone: it is shown where no person, database or address can be relied on.
"""

from dataclasses import dataclass

from django.core.exceptions import (
    DisallowedHost,
    RequestDataTooBig,
    TooManyFieldsSent,
    TooManyFilesSent,
)
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.views.decorators.csrf import requires_csrf_token

from turnwell.errors import (
    CannotTellError,
    ChangedMeanwhileError,
    InputError,
    NotAllowedError,
    StageError,
    TurnwellError,
)

__all__ = [
    "Refusal",
    "bad_request",
    "csrf_failed",
    "forbidden",
    "not_found",
    "refused",
    "server_error",
    "wrong_method",
]


@dataclass(frozen=True, slots=True)
class Refusal:
    """What a page of refusal says.

    Parameters
    ----------
    head : str
        What happened, as a title.
    sentence : str
        What happened, what was kept, what to do.
    status : int
        Of the answer.
    """

    head: str
    sentence: str
    status: int


TOO_LARGE = Refusal(
    "That was too much at once",
    "More was sent than one form may hold, so nothing of it was kept; go back and send less.",
    413,
)
BAD_REQUEST = Refusal(
    "This could not be read",
    "The browser sent something this page cannot read, so nothing was changed; go back and try"
    " again.",
    400,
)
WRONG_HOST = Refusal(
    "Not known by this name",
    "The server is not set to answer to the name in the address bar; use the address it printed"
    " when it started, or add the name to TURNWELL_HOSTS.",
    400,
)
FORBIDDEN = Refusal(
    "Not yours to open",
    "Your role does not open this page, and nothing was changed; go back, or ask the owner.",
    403,
)
NOT_FOUND = Refusal(
    "Nothing here",
    "There is nothing at this address, or it is not for you to see; check the code or the address,"
    " or search for it.",
    404,
)
WRONG_METHOD = Refusal(
    "Not a page of its own",
    "This address only takes what a form sends, so nothing was changed; go back to the page with"
    " the form.",
    405,
)
CSRF_FAILED = Refusal(
    "This form was too old",
    "The form was made before you last signed in, or by another page, so nothing was saved; go"
    " back, load the page again and send it once more.",
    403,
)
# First match wins.
OF_ERRORS: tuple[tuple[type[TurnwellError], str, int], ...] = (
    (NotAllowedError, "Not yours to do", 403),
    (ChangedMeanwhileError, "Somebody was quicker", 409),
    (StageError, "Not at this stage", 409),
    (CannotTellError, "The evidence cannot answer", 422),
    (InputError, "That cannot be", 400),
)


def refused(request: HttpRequest, error: TurnwellError) -> HttpResponse:
    """Give the page for an error that a view let go."""
    for kind, head, status in OF_ERRORS:
        if isinstance(error, kind):
            return _page(request, Refusal(head, f"{error} Nothing was changed.", status))
    return _page(request, Refusal("Not done", f"{error} Nothing was changed.", 400))


def bad_request(_request: HttpRequest, exception: Exception) -> HttpResponse:
    """Answer 400, or 413 where too much was sent."""
    if isinstance(exception, DisallowedHost):
        return _plain(WRONG_HOST)
    if isinstance(exception, RequestDataTooBig | TooManyFieldsSent | TooManyFilesSent):
        return _plain(TOO_LARGE)
    return _plain(BAD_REQUEST)


@requires_csrf_token
def forbidden(request: HttpRequest, exception: Exception) -> HttpResponse:  # noqa: ARG001  # Django's signature
    """Answer 403."""
    return _page(request, FORBIDDEN)


@requires_csrf_token
def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:  # noqa: ARG001  # Django's signature
    """Answer 404."""
    return _page(request, NOT_FOUND)


@requires_csrf_token
def csrf_failed(request: HttpRequest, reason: str = "") -> HttpResponse:  # noqa: ARG001  # Django's signature
    """Answer 403 to a form without this session's token."""
    return _page(request, CSRF_FAILED)


def wrong_method(request: HttpRequest, allowed: str) -> HttpResponse:
    """Answer 405 with what the address does take."""
    answer = _page(request, WRONG_METHOD)
    answer["Allow"] = allowed
    return answer


def server_error(_request: HttpRequest) -> HttpResponse:
    """Answer 500; leans on nothing that may have failed."""
    return _plain(
        Refusal(
            "Something broke",
            "The server met a fault of its own. What was saved before is kept, this last step is"
            " not; try it again, and if it breaks again, look at what the server printed.",
            500,
        )
    )


def _page(request: HttpRequest, refusal: Refusal) -> HttpResponse:
    return render(request, "shared/refusal.html", {"refusal": refusal}, status=refusal.status)


def _plain(refusal: Refusal) -> HttpResponse:
    body = render_to_string("shared/refusal_plain.html", {"refusal": refusal})
    return HttpResponse(body, status=refusal.status)
