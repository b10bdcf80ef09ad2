"""Issue cycle reviews: made once from the records as they stand, then kept as bytes."""

from datetime import datetime
from io import BytesIO

from django.db import transaction
from django.utils import timezone

from turnwell import papers
from turnwell.errors import StageError
from turnwell.web.accounts.models import User
from turnwell.web.evidence.actions import store_file
from turnwell.web.evidence.models import StoredFile
from turnwell.web.shared.access import require_shop
from turnwell.web.shop.queries import the_shop
from turnwell.web.sterilizers.actions.sterilizers import NOT_OF_THE_SHOP
from turnwell.web.sterilizers.analysis.papers import months_values, run_values
from turnwell.web.sterilizers.models import CycleRecord, IssuedReview, Sterilizer

__all__ = ["issue_review", "issue_run_review"]


def issue_review(*, by: User, sterilizer: Sterilizer, at: datetime | None = None) -> IssuedReview:
    """Issue the review of a sterilizer's months: print it, keep its bytes, write who and when.

    Raises
    ------
    NotAllowedError
        If the person is not of the shop.
    StageError
        If no record with a clock is in the book that the review could speak of.
    """
    require_shop(by, NOT_OF_THE_SHOP)
    issued_at = at or timezone.now()
    if not sterilizer.records.standing().in_time().exists():
        raise StageError(
            f"sterilizer {sterilizer} has no record with a clock; drop its records first"
        )
    shop = the_shop()
    values = months_values(sterilizer, shop=shop, by=by, at=issued_at)
    content = papers.cycle_review(values, page_size=papers.PageSize(shop.paper_size))
    return _kept(by, sterilizer, None, content, issued_at)


def issue_run_review(*, by: User, record: CycleRecord, at: datetime | None = None) -> IssuedReview:
    """Issue the review of one run.

    Raises
    ------
    NotAllowedError
        If the person is not of the shop.
    StageError
        If the record was never read.
    """
    require_shop(by, NOT_OF_THE_SHOP)
    issued_at = at or timezone.now()
    if record.review is None:
        raise StageError("this record was not read, so there is nothing to print; review it again")
    shop = the_shop()
    values = run_values(record, shop=shop, by=by, at=issued_at)
    content = papers.cycle_review(values, page_size=papers.PageSize(shop.paper_size))
    return _kept(by, record.sterilizer, record, content, issued_at)


def _kept(
    by: User, sterilizer: Sterilizer, record: CycleRecord | None, content: bytes, at: datetime
) -> IssuedReview:
    """Keep a printed review with its row."""
    of = f"run-{record.pk}" if record else f"sterilizer-{sterilizer.pk}"
    with transaction.atomic():
        file = store_file(
            by=by,
            kind=StoredFile.Kind.PAPER,
            content=BytesIO(content),
            original_name=f"cycle-review-{of}-{at:%Y-%m-%d}.pdf",
            media_type="application/pdf",
            at=at,
        )
        return IssuedReview.objects.create(
            sterilizer=sterilizer, record=record, file=file, issued_at=at, issued_by=by
        )
