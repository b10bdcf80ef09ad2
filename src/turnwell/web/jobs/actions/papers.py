"""Issue papers: made once from the records as they stand, then kept as bytes."""

from collections.abc import Callable
from datetime import datetime
from io import BytesIO

from django.db import transaction

from turnwell import papers
from turnwell.errors import InputError, StageError
from turnwell.web.accounts.models import User
from turnwell.web.evidence.actions import store_file
from turnwell.web.evidence.models import StoredFile
from turnwell.web.jobs.actions.writing import moment, require_shop
from turnwell.web.jobs.analysis.papers import estimate_values, sheet_values
from turnwell.web.jobs.models import IssuedPaper, Job
from turnwell.web.shop.models import Shop
from turnwell.web.shop.queries import the_shop

__all__ = ["issue_paper"]


def issue_paper(
    *, by: User, job: Job, kind: IssuedPaper.Kind, at: datetime | None = None
) -> IssuedPaper:
    """Issue a paper of a job: print it, keep its bytes, write down who and when.

    A paper issued before stays as it is; issuing again makes another one.

    Raises
    ------
    NotAllowedError
        If the person is not of the shop.
    StageError
        If there is nothing yet that the paper could say.
    InputError
        If the kind is none there is, or the moment lies in the future.
    """
    require_shop(by)
    if kind not in PRINTERS:
        raise InputError(f"{kind!r} is no paper; choose one of {', '.join(PRINTERS)}")
    issued_at = moment(at, not_before=job.taken_in_at)
    content = PRINTERS[IssuedPaper.Kind(kind)](job, the_shop(), by, issued_at)
    with transaction.atomic():
        file = store_file(
            by=by,
            kind=StoredFile.Kind.PAPER,
            content=BytesIO(content),
            original_name=f"{kind.replace('_', '-')}-{job.code}.pdf",
            media_type="application/pdf",
            at=issued_at,
        )
        return IssuedPaper.objects.create(
            job=job, kind=kind, file=file, issued_at=issued_at, issued_by=by
        )


def _test_sheet(job: Job, shop: Shop, by: User, at: datetime) -> bytes:
    values = sheet_values(job, shop=shop, by=by, at=at)
    if values.before is None and values.after is None:
        raise StageError(
            f"job {job.code} has no test yet; test it, or write why that is left out, then issue"
            " the sheet"
        )
    return papers.test_sheet(values, page_size=papers.PageSize(shop.paper_size))


def _estimate(job: Job, shop: Shop, by: User, at: datetime) -> bytes:
    if not job.options.standing().exists():
        raise StageError(f"job {job.code} has no option yet; write one with its price first")
    values = estimate_values(job, shop=shop, by=by, at=at)
    return papers.estimate(values, page_size=papers.PageSize(shop.paper_size))


PRINTERS: dict[IssuedPaper.Kind, Callable[[Job, Shop, User, datetime], bytes]] = {
    IssuedPaper.Kind.TEST_SHEET: _test_sheet,
    IssuedPaper.Kind.ESTIMATE: _estimate,
}
