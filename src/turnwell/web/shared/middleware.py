"""What every request must be and every answer carries."""

import secrets
from collections.abc import Callable
from http import HTTPStatus

from django.http import HttpRequest, HttpResponse

from turnwell.errors import TurnwellError
from turnwell.web.shared.refusals import bad_request, refused, wrong_method

__all__ = ["RefusalPages", "page_policy"]

CONTENT_POLICY = (
    "default-src 'self'; script-src 'self'; style-src 'self' 'nonce-{nonce}';"
    " img-src 'self' data: blob:; font-src 'self'; connect-src 'self'; media-src 'self' blob:;"
    " worker-src 'self'; manifest-src 'self'; object-src 'none'; base-uri 'none';"
    " form-action 'self'; frame-ancestors 'none'"
)
PERMISSIONS = "microphone=(self), camera=(), geolocation=(), payment=(), usb=(), display-capture=()"

Answerer = Callable[[HttpRequest], HttpResponse]


def page_policy(get_response: Answerer) -> Answerer:
    """Give each request a nonce for styles, and each answer its policies.

    Pictures that a script draws bring styles of their own; they read the nonce from the page. No
    script runs but those served as files. A browser asks again before it shows a kept page, so
    that nobody finds the last person's pages under the back button.
    """

    def answer(request: HttpRequest) -> HttpResponse:
        nonce = secrets.token_urlsafe(16)
        request.csp_nonce = nonce  # type: ignore[attr-defined]  # read by templates
        response = get_response(request)
        response.setdefault("Content-Security-Policy", CONTENT_POLICY.format(nonce=nonce))
        response.setdefault("Permissions-Policy", PERMISSIONS)
        response.setdefault("Cache-Control", "private, no-cache")
        return response

    return answer


class RefusalPages:
    """Turns an error of ours that a view let go into its page, and refuses NUL in addresses.

    One database keeps the NUL character and the other does not take it: no address holds one.
    """

    def __init__(self, get_response: Answerer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Refuse NUL, pass the rest on."""
        query = request.META.get("QUERY_STRING", "")
        if "\x00" in request.path_info or "%00" in query or "\x00" in query:
            return bad_request(request, ValueError("NUL in the address"))
        answer = self.get_response(request)
        if answer.status_code == HTTPStatus.METHOD_NOT_ALLOWED and not answer.content:
            return wrong_method(request, answer["Allow"])
        return answer

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponse | None:
        """Give the page of refusal; leave what is a bug to be one."""
        return refused(request, exception) if isinstance(exception, TurnwellError) else None
