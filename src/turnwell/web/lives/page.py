"""What the page of an office review shows."""

from dataclasses import dataclass
from datetime import datetime

from turnwell import papers
from turnwell.web.lives.analysis.review import OfficeReview, review_of
from turnwell.web.lives.analysis.review_said import counted, in_short, untold
from turnwell.web.lives.kept import kept_answer
from turnwell.web.lives.records import ShopRecords, shop_records
from turnwell.web.offices.models import Office
from turnwell.web.shared.times import today_in_zone
from turnwell.words import text_of

__all__ = ["ReviewPage", "page_of", "review_now"]


@dataclass(frozen=True, slots=True, eq=False)
class ReviewPage:
    """A review and its sentences.

    Parameters
    ----------
    review : OfficeReview
    in_short : str
    says : tuple of str
        Under it: how the office stands beside the others, where the answer was another.
    untold : tuple of papers.Untold
    counted : tuple of (str, str)
    """

    review: OfficeReview
    in_short: str
    says: tuple[str, ...]
    untold: tuple[papers.Untold, ...]
    counted: tuple[tuple[str, str], ...]


def page_of(office: Office, *, years: int, now: datetime) -> ReviewPage:
    """Give what the page of an office review shows."""
    _, review = review_now(office, years=years, now=now)
    says = (text_of(review.against.why),) if review.handpieces else ()
    return ReviewPage(review, in_short(review), says, untold(review), counted(review))


def review_now(office: Office, *, years: int, now: datetime) -> tuple[ShopRecords, OfficeReview]:
    """Give the records as they stand, and the review made of them."""
    records = shop_records(now)
    today = today_in_zone(office.time_zone, now)
    found = kept_answer(
        records,
        ("review", office.pk, years, today),
        lambda: review_of(records, office, today=today, years=years),
    )
    return records, found
