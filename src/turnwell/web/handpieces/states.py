"""Where handpieces are: in use, at the bench, on loan, retired; for a whole list in one query."""

from collections.abc import Iterable
from dataclasses import dataclass

from turnwell.web.handpieces.models import Handpiece
from turnwell.web.jobs.models import Job

__all__ = ["HandpieceLine", "with_states"]


@dataclass(frozen=True, slots=True)
class HandpieceLine:
    """A handpiece with its open job, if it has one."""

    handpiece: Handpiece
    open_job: Job | None

    @property
    def state(self) -> str:
        """Where it is, in a few words."""
        if self.open_job is not None:
            return f"at the bench, {self.open_job.get_stage_display().lower()}"
        if self.handpiece.retired_on is not None:
            return "retired"
        return "on loan" if self.handpiece.is_loan else "in use"


def with_states(handpieces: Iterable[Handpiece]) -> list[HandpieceLine]:
    """Give each handpiece with its open job; one query for all of them."""
    rows = list(handpieces)
    jobs = Job.objects.open().filter(handpiece__in=[row.pk for row in rows]).order_by()
    still_here = {job.handpiece_id: job for job in jobs}
    return [HandpieceLine(row, still_here.get(row.pk)) for row in rows]
