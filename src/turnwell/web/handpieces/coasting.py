"""How a handpiece coasts down now, over how it did when it was last known to run true."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from turnwell.web.handpieces.history import TestedOnce, same_set_up
from turnwell.web.jobs.models import Recording, Test

__all__ = ["CoastDowns", "coast_downs"]


@dataclass(frozen=True, slots=True, eq=False)
class CoastDowns:
    """The latest coast-down that was recorded, and the one it is held against.

    Parameters
    ----------
    latest : TestedOnce
    after : mapping
        The document of its recording.
    baseline : TestedOnce or None
        The last final test of an earlier job with the same set-up; None where there is none.
    before : mapping or None
        The document of that test's recording.
    """

    latest: TestedOnce
    after: Mapping[str, Any]
    baseline: TestedOnce | None
    before: Mapping[str, Any] | None


def coast_downs(tests: Sequence[TestedOnce]) -> CoastDowns | None:
    """Give the coast-downs of the latest test and of its baseline; None where none was heard.

    Parameters
    ----------
    tests : sequence of TestedOnce
        Of one handpiece, oldest first.
    """
    recorded = [key for once in tests for key in once.recordings]
    heard = set(
        Recording.objects.filter(
            pk__in=recorded, listening__coast_down__0__isnull=False
        ).values_list("pk", flat=True)
    )
    coasting = [once for once in tests if heard.intersection(once.recordings)]
    if not coasting:
        return None
    latest = coasting[-1]
    baseline = next((once for once in reversed(coasting) if _is_baseline(once, latest)), None)
    return CoastDowns(
        latest,
        _document(latest, heard),
        baseline,
        None if baseline is None else _document(baseline, heard),
    )


def _is_baseline(once: TestedOnce, latest: TestedOnce) -> bool:
    is_earlier_job = once.job != latest.job and once.test.when == Test.When.FINAL
    return is_earlier_job and same_set_up(once.test, latest.test)


def _document(once: TestedOnce, heard: set[int]) -> Mapping[str, Any]:
    """Give what was heard in the last recording of a test that holds a coast-down."""
    last = [key for key in once.recordings if key in heard][-1]
    return Recording.objects.only("listening").get(pk=last).listening or {}
