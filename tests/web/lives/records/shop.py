"""Small shops made by hand: stays written straight into the book, long ago and already ended."""

from datetime import UTC, date, datetime, timedelta

from tests.people import theo_the_technician
from turnwell.web.handpieces.models import Handpiece
from turnwell.web.jobs.models import (
    ConfirmedCause,
    EstimateAnswer,
    EstimateOption,
    Job,
    OptionKind,
    Stage,
)
from turnwell.web.lives.records import ShopRecords
from turnwell.web.lives.records.shop import records_of
from turnwell.web.lives.records.snapshot import read_snapshot
from turnwell.web.offices.models import Office
from turnwell.web.shared.codes import new_code
from turnwell.web.visits.models import Visit

__all__ = ["NOW", "a_stay", "a_visit", "agree", "day", "now_s", "records", "settle", "tool"]

NOW = datetime(2026, 1, 1, 12, tzinfo=UTC)


def day(number: float) -> datetime:
    """Give noon of a day of 2024 or later, counted from its first."""
    return datetime(2024, 1, 1, 12, tzinfo=UTC) + timedelta(days=number)


def now_s() -> int:
    return int(NOW.timestamp())


def tool(office: str = "Birch Lane", **fields: object) -> Handpiece:
    """Give a turbine of an office, both made when first named."""
    place, _ = Office.objects.get_or_create(name=office)
    defaults = {"code": new_code("H"), "class_key": "air_turbine_4_hole", "office": place}
    return Handpiece.objects.create(**defaults | fields)


def a_stay(
    handpiece: Handpiece,
    begin: float,
    end: float | None,
    *,
    reason: str = Job.Reason.FAULT,
    unrepaired: bool = False,
    office: str | None = None,
    cycles: int | None = None,
) -> Job:
    """Give a stay from one day to another; still at the bench without an end."""
    stage = Stage.HANDED_BACK_UNREPAIRED if unrepaired else Stage.HANDED_BACK
    place = handpiece.office if office is None else Office.objects.get(name=office)
    return Job.objects.create(
        code=new_code("J"),
        handpiece=handpiece,
        office=place,
        reason=reason,
        complaint_words="It growls.",
        sterilized_by=Job.SterilizedBy.OFFICE,
        known_cycles=cycles,
        taken_in_at=day(begin),
        taken_in_by=theo_the_technician(),
        stage=Stage.TAKEN_IN if end is None else stage,
        stage_since=day(begin if end is None else end),
        ended_at=None if end is None else day(end),
    )


def settle(job: Job, cause_key: str) -> ConfirmedCause:
    return ConfirmedCause.objects.create(
        job=job,
        cause_key=cause_key,
        is_after_ladder=False,
        is_own_view=True,
        entered_by=theo_the_technician(),
    )


def agree(
    job: Job,
    kind: str = OptionKind.CARTRIDGE,
    *,
    price: int = 100,
    warranty_months: int = 0,
    currency: str = "EUR",
) -> EstimateAnswer:
    """Let an office agree to an option of one price, without tax."""
    by = theo_the_technician()
    option = EstimateOption.objects.create(
        job=job,
        kind=kind,
        parts_price=price,
        currency=currency,
        tax_percent=0,
        tax_amount=0,
        warranty_months=warranty_months,
        entered_by=by,
    )
    return EstimateAnswer.objects.create(
        job=job,
        answer=EstimateAnswer.Answer.AGREED,
        option=option,
        answered_by="Bea",
        answered_at=job.taken_in_at,
        entered_by=by,
    )


def a_visit(office: str, on: date) -> Visit:
    place = Office.objects.get(name=office)
    return Visit.objects.create(
        office=place, visited_on=on, why="Care looked at", entered_by=theo_the_technician()
    )


def records() -> ShopRecords:
    """Give the records of what is in the book, as seen at `NOW`."""
    return records_of(read_snapshot(), now_s())
