"""How often a person may try to sign in before the door stays shut for a while.

Five wrong passwords for one name from one place within five minutes, or thirty from anywhere within
fifteen, close it until the oldest of them is that old. The numbers are our own: slow enough against
guessing, and a name cannot be shut out from afar with a handful of tries. A one-time link from the
machine itself always opens.
"""

from datetime import datetime, timedelta

from django.db import transaction
from django.utils import timezone

from turnwell.errors import NotAllowedError
from turnwell.web.accounts.models import SignInFailure

__all__ = ["check_door", "forget_failures", "note_failure"]

FROM_ONE_PLACE = (5, timedelta(minutes=5))
FROM_ANYWHERE = (30, timedelta(minutes=15))
KEPT = timedelta(days=1)


def check_door(name: str, address: str, at: datetime | None = None) -> None:
    """Let an attempt pass.

    Raises
    ------
    NotAllowedError
        If there were too many wrong ones; says how long to wait.
    """
    now = at or timezone.now()
    of_name = SignInFailure.objects.filter(name_folded=_folded(name)).order_by("-at")
    for rows, (allowed, span) in (
        (of_name.filter(address=address[:45]), FROM_ONE_PLACE),
        (of_name, FROM_ANYWHERE),
    ):
        recent = list(rows.filter(at__gt=now - span).values_list("at", flat=True)[:allowed])
        if len(recent) == allowed:
            minutes = max(1, round((recent[-1] + span - now).total_seconds() / 60))
            raise NotAllowedError(
                "Too many wrong passwords for this name; wait"
                f" {minutes} minute{'' if minutes == 1 else 's'} and try again, or ask the owner"
                " for a one-time link."
            )


def note_failure(name: str, address: str, at: datetime | None = None) -> None:
    """Keep one refused attempt, and drop what is too old to matter."""
    now = at or timezone.now()
    with transaction.atomic():
        SignInFailure.objects.filter(at__lt=now - KEPT).delete()
        SignInFailure.objects.create(name_folded=_folded(name), address=address[:45], at=now)


def forget_failures(name: str, address: str) -> None:
    """Begin anew once the person has come in."""
    SignInFailure.objects.filter(name_folded=_folded(name), address=address[:45]).delete()


def _folded(name: str) -> str:
    return name.strip().casefold()[:150]
