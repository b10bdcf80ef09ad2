"""The ranking of causes for a job, from its own records."""

from typing import Any

from turnwell.web.jobs.models import Job

__all__ = ["ladder_record"]


def ladder_record(job: Job) -> tuple[dict[str, Any], str]:
    """Rank the causes of a job; the ranking as JSON values, and the version of the core."""
    raise NotImplementedError
