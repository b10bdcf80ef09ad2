"""Where a QR code leads."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from turnwell.web.shared.access import person
from turnwell.web.shared.codes import read_code
from turnwell.web.shop.search import by_code

__all__ = ["code"]


@require_safe
def code(request: HttpRequest, code: str) -> HttpResponse:
    """Go to the handpiece or the job of a code; say what is wrong with one that leads nowhere."""
    read = read_code(code)
    thing = by_code(person(request), read) if read else None
    if thing is not None:
        return redirect(thing)
    context = {"typed": code[:40], "is_code": read is not None}
    return render(request, "shop/code_unknown.html", context, status=404)
