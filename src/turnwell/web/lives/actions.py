"""Issue office reviews: made once from the records as they stand, then kept as bytes."""

from datetime import datetime
from io import BytesIO

from django.db import transaction
from django.utils import timezone

from turnwell import papers
from turnwell.errors import StageError
from turnwell.web.accounts.models import User
from turnwell.web.evidence.actions import store_file
from turnwell.web.evidence.models import StoredFile
from turnwell.web.lives.models import IssuedOfficeReview
from turnwell.web.lives.page import page_of
from turnwell.web.lives.paper import review_values
from turnwell.web.offices.models import Office
from turnwell.web.shared.access import require_shop
from turnwell.web.shop.queries import the_shop

__all__ = ["issue_office_review"]

NOT_OF_THE_SHOP = "only people of the shop issue office reviews"


def issue_office_review(
    *, by: User, office: Office, years: int, at: datetime | None = None
) -> IssuedOfficeReview:
    """Print the review of an office, keep its bytes, write who and when.

    Parameters
    ----------
    years : int
        How far it looks back.

    Raises
    ------
    NotAllowedError
        If the person is not of the shop.
    StageError
        If no handpiece of the office is under observation yet.
    """
    require_shop(by, NOT_OF_THE_SHOP)
    issued_at = at or timezone.now()
    page = page_of(office, years=years, now=issued_at)
    if not page.review.handpieces:
        raise StageError(
            f"no handpiece of {office} is under observation yet; hand one back, or write down the"
            " count of its cycles"
        )
    shop = the_shop()
    values = review_values(page, shop=shop, by=by, at=issued_at)
    content = papers.office_review(values, page_size=papers.PageSize(shop.paper_size))
    with transaction.atomic():
        file = store_file(
            by=by,
            kind=StoredFile.Kind.PAPER,
            content=BytesIO(content),
            original_name=f"office-review-{office.pk}-{issued_at:%Y-%m-%d}.pdf",
            media_type="application/pdf",
            at=issued_at,
        )
        return IssuedOfficeReview.objects.create(
            office=office, file=file, issued_at=issued_at, issued_by=by
        )
