"""What every answer carries: the content policy and the permissions of the page."""

import secrets
from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

__all__ = ["page_policy"]

CONTENT_POLICY = (
    "default-src 'self'; script-src 'self'; style-src 'self' 'nonce-{nonce}';"
    " img-src 'self' data: blob:; font-src 'self'; connect-src 'self'; media-src 'self' blob:;"
    " worker-src 'self'; manifest-src 'self'; object-src 'none'; base-uri 'none';"
    " form-action 'self'; frame-ancestors 'none'"
)
PERMISSIONS = "microphone=(self), camera=(), geolocation=(), payment=(), usb=(), display-capture=()"


def page_policy(
    get_response: Callable[[HttpRequest], HttpResponse],
) -> Callable[[HttpRequest], HttpResponse]:
    """Give each request a nonce for styles, and each answer its policies.

    Pictures that a script draws bring styles of their own; they read the nonce from the page. No
    script runs but those served as files.
    """

    def answer(request: HttpRequest) -> HttpResponse:
        nonce = secrets.token_urlsafe(16)
        request.csp_nonce = nonce  # type: ignore[attr-defined]  # read by templates
        response = get_response(request)
        response.setdefault("Content-Security-Policy", CONTENT_POLICY.format(nonce=nonce))
        response.setdefault("Permissions-Policy", PERMISSIONS)
        return response

    return answer
