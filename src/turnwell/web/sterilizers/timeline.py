"""What happened at an office around its sterilizers: trainings, visits, returns with corrosion."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from django.utils import timezone

from turnwell.web.accounts.models import User
from turnwell.web.jobs.models import ConfirmedCause
from turnwell.web.lives.queries import return_keys
from turnwell.web.offices.models import Office
from turnwell.web.shared.times import shown_in_zone
from turnwell.web.visits.models import Visit

__all__ = ["Event", "EventKind", "events_of", "trained_on"]

CORROSION = "moisture_corrosion"


class EventKind(StrEnum):
    """What an event of the time line is."""

    RETURN = "return"
    TRAINING = "training"
    VISIT = "visit"


@dataclass(frozen=True, slots=True)
class Event:
    """Something that happened on a day.

    Parameters
    ----------
    on : date
        By the office's clock.
    kind : EventKind
    words : str
    address : str
        Of its page; empty where the reader may not open one.
    """

    on: date
    kind: EventKind
    words: str
    address: str = ""


def events_of(office: Office, user: User) -> list[Event]:
    """Give what happened at an office, oldest first; four queries.

    People of an office see their trainings and returns, not the shop's other visits.
    """
    return sorted([*_returns(office), *_visits(office, user)], key=lambda event: event.on)


def trained_on(office: Office) -> date | None:
    """Give the day of the office's last training."""
    trainings = Visit.objects.standing().filter(office=office, was_training=True)
    return trainings.order_by("-visited_on").values_list("visited_on", flat=True).first()


def _returns(office: Office) -> list[Event]:
    """Give the returns that rust was settled as the main cause of."""
    settled = list(
        ConfirmedCause.objects.standing()
        .filter(job__office=office, job__reason="fault", cause_key=CORROSION)
        .select_related("job__handpiece__model")
    )
    returns = return_keys((row.job.handpiece_id for row in settled), timezone.now())
    return [
        Event(
            shown_in_zone(row.job.taken_in_at, office.time_zone).date(),
            EventKind.RETURN,
            f"{row.job.handpiece} came in, corrosion as its cause",
            row.job.get_absolute_url(),
        )
        for row in settled
        if row.job_id in returns
    ]


def _visits(office: Office, user: User) -> list[Event]:
    visits = Visit.objects.standing().filter(office=office)
    if not user.is_shop:
        visits = visits.filter(was_training=True)
    return [
        Event(
            visit.visited_on,
            EventKind.TRAINING if visit.was_training else EventKind.VISIT,
            "People trained" if visit.was_training and not user.is_shop else visit.why,
            "",
        )
        for visit in visits
    ]
