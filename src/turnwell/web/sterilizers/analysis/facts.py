"""What the cycle records of an office tell about the cause of a failure.

Only what is shown is answered: that drying is cut short in more than one of ten runs, and that the
plateau went above 137 °C, both as the catalogue's findings put it. Records in order answer neither
with "no": a pouch may be damp, and a handpiece be heated elsewhere, without a record of it.
"""

from datetime import datetime, timedelta

from turnwell.steam.months import Share, share_of
from turnwell.web.sterilizers.models import CycleReading, CycleRecord
from turnwell.web.sterilizers.queries import CycleRecordQuerySet

__all__ = ["drying_shares", "is_drying_cut_short", "was_too_hot"]

LOOKED_BACK = timedelta(days=182)
# Drying cut short, as the catalogue's finding has it: in more than one of ten loads.
USUAL_SHARE = 0.1
# Below this the interval of a share says little about a habit (common practice).
FEWEST_RUNS = 10
HOTTEST_C = 137.0


def drying_shares(office: int, until: datetime) -> Share:
    """Give the share of an office's runs with drying cut short in the half-year before a moment.

    Parameters
    ----------
    office : int
        Its key.
    until : datetime
        When the handpiece came in.
    """
    told = _records(office, until).filter(is_drying_short__isnull=False)
    short = told.filter(is_drying_short=True).count()
    return share_of(short, told.count())


def is_drying_cut_short(office: int, until: datetime) -> bool | None:
    """Tell whether drying is cut short as a habit; None where the records do not show it."""
    share = drying_shares(office, until)
    return True if share.runs >= FEWEST_RUNS and share.low > USUAL_SHARE else None


def was_too_hot(office: int, until: datetime) -> bool | None:
    """Tell whether a plateau is shown to have gone above 137 °C; None where none is."""
    hot = CycleReading.objects.filter(
        record__in=_records(office, until),
        key="plateau_temperature_high_c",
        value__gt=HOTTEST_C,
    )
    return True if any(row.stored["low"] > HOTTEST_C for row in hot) else None


def _records(office: int, until: datetime) -> CycleRecordQuerySet:
    return (
        CycleRecord.objects.standing()
        .filter(
            sterilizer__office=office, started_at__gt=until - LOOKED_BACK, started_at__lte=until
        )
        .order_by()
    )
