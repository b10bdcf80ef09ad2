"""Gathers from a review what goes onto its paper."""

from datetime import datetime

from django.conf import settings
from django.urls import reverse

from turnwell import papers
from turnwell.web.accounts.models import User
from turnwell.web.lives.analysis.handpieces import OftenBack
from turnwell.web.lives.page import ReviewPage
from turnwell.web.offices.models import Office
from turnwell.web.shared.times import shown_in_zone
from turnwell.web.shop.models import Shop
from turnwell.words import Message, text_of

__all__ = ["review_values"]

MONTHS_A_YEAR = 12.0


def review_values(
    page: ReviewPage, *, shop: Shop, by: User, at: datetime
) -> papers.OfficeReviewPaper:
    """Give what goes onto the paper of a review."""
    review, office = page.review, page.review.office
    return papers.OfficeReviewPaper(
        shop=papers.ShopHead(shop.name, shop.address, shop.phone, shop.email),
        office=office.name,
        first=review.first,
        last=review.last,
        holds=_holds(office),
        link=f"{settings.ENVIRONMENT.address}{reverse('office-review', args=[office.pk])}",
        issued_at=shown_in_zone(at, office.time_zone),
        issued_by=str(by),
        in_short=page.in_short,
        says=page.says,
        curve=review.curve,
        expected=(review.against,),
        trainings=tuple(one.told for one in review.visits if one.told is not None),
        causes=review.incidence,
        handpieces=tuple(_often(one) for one in review.often),
        money=review.money,
        actions=review.actions,
        untold=page.untold,
        counted=page.counted,
    )


def _holds(office: Office) -> str:
    counts = {
        "chairs": office.chairs.count(),
        "handpieces": office.handpieces.filter(retired_on__isnull=True).count(),
        "sterilizers": office.sterilizers.filter(is_active=True).count(),
    }
    return ", ".join(
        text_of(Message(f"lives.holds.{key}.{'one' if count == 1 else 'more'}", {"count": count}))
        for key, count in counts.items()
        if count
    )


def _often(one: OftenBack) -> papers.HandpieceBack:
    months = {"months": one.years * MONTHS_A_YEAR}
    return papers.HandpieceBack(
        name=str(one.handpiece.model or one.handpiece.code),
        returns=one.returns,
        watched=text_of(Message("lives.watched_months", months)),
        serial=one.handpiece.serial,
        chair=str(one.handpiece.chair or ""),
        causes=one.causes,
        spent=one.spent,
    )
