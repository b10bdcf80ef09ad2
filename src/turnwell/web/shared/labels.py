"""Labels with a QR code: what the code carries, and the answer that prints one."""

from datetime import datetime

from django.conf import settings
from django.http import HttpResponse
from django.urls import reverse
from django.utils import timezone

from turnwell import papers
from turnwell.web.shared.codes import code_shown

__all__ = ["label_response", "link_of", "pdf_response"]


def link_of(code: str) -> str:
    """Give what a QR code carries: the address of the code's page, or without one the code."""
    address: str = settings.ENVIRONMENT.address
    return f"{address}{reverse('code', args=[code])}" if address else code


def label_response(
    *, code: str, handpiece: str, serial: str, office: str, at: datetime | None = None
) -> HttpResponse:
    """Print the label of a handpiece or a job."""
    values = papers.Label(
        code=code_shown(code),
        link=link_of(code),
        handpiece=handpiece,
        serial=serial,
        office=office,
        printed_at=at or timezone.now(),
    )
    return pdf_response(papers.label(values), f"label-{code}.pdf")


def pdf_response(content: bytes, name: str) -> HttpResponse:
    """Give a PDF that the browser shows, and neither runs nor keeps."""
    response = HttpResponse(content, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{name}"'
    response["X-Content-Type-Options"] = "nosniff"
    response["Cache-Control"] = "private, no-store"
    response["Content-Security-Policy"] = "default-src 'none'; frame-ancestors 'none'"
    return response
