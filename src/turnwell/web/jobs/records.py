"""Everything written about one job, read once, in a number of queries that never grows."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from typing import TypeVar

from django.db.models import Model

from turnwell.catalogue import Complaint, load
from turnwell.catalogue import Finding as FindingFact
from turnwell.web.jobs.history import HistoryLine, cause_name, history_of
from turnwell.web.jobs.models import (
    ConfirmedCause,
    EstimateAnswer,
    EstimateOption,
    Finding,
    IssuedPaper,
    Job,
    JobNote,
    OwnView,
    PartUsed,
    RunIn,
    ShownLadder,
    StageChange,
    TachometerReading,
    Test,
)
from turnwell.web.jobs.tests_on_file import JobTests, TestOnFile, job_tests, standing

__all__ = ["FindingShown", "JobRecords"]

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class FindingShown:
    """A finding that holds, with what the catalogue says of it."""

    row: Finding
    fact: FindingFact | None

    @property
    def name(self) -> str:
        """Its name; its key where the catalogue no longer has it."""
        return self.fact.name if self.fact else self.row.key

    @property
    def is_of_the_opened(self) -> bool:
        """True where it is looked for once the handpiece is open."""
        return self.fact is not None and self.fact.stage == "torn down"

    @property
    def is_seen(self) -> bool:
        """True where it was seen."""
        return self.row.answer == Finding.Answer.SEEN


class JobRecords:
    """The records of one job, each kind read when first asked for."""

    def __init__(self, job: Job) -> None:
        self.job = job

    @cached_property
    def _tests(self) -> JobTests:
        return job_tests(self.job)

    @property
    def tests(self) -> Sequence[TestOnFile]:
        """The tests that hold, oldest first."""
        return self._tests.standing

    def tests_of(self, when: Test.When) -> list[TestOnFile]:
        """Give the tests of one time that hold."""
        return [record for record in self.tests if record.test.when == when]

    @cached_property
    def steps(self) -> list[StageChange]:
        """Every step, first to last."""
        return list(self.job.stage_changes.select_related("by"))

    @cached_property
    def _tachometer_readings(self) -> list[TachometerReading]:
        rows = TachometerReading.objects.filter(recording__test__job=self.job)
        return list(rows.select_related("entered_by", "instrument"))

    @cached_property
    def _findings(self) -> list[Finding]:
        rows = self.job.findings.select_related("entered_by").prefetch_related("photos__file")
        return list(rows)

    @cached_property
    def findings(self) -> list[FindingShown]:
        """The findings that hold."""
        facts = load().findings
        return [FindingShown(row, facts.get(row.key)) for row in standing(self._findings)]

    @cached_property
    def _own_views(self) -> list[OwnView]:
        return list(self.job.own_views.select_related("entered_by"))

    @property
    def own_view(self) -> OwnView | None:
        """The technician's own view that holds."""
        return _last(standing(self._own_views))

    @cached_property
    def _ladders(self) -> list[ShownLadder]:
        return list(self.job.ladders.select_related("by"))

    @property
    def ladder(self) -> ShownLadder | None:
        """The ranking as it was last shown."""
        return _last(self._ladders)

    @property
    def ranked(self) -> list[str]:
        """Keys of the causes as they were last ranked, the likeliest first."""
        return [row["key"] for row in self.ladder.record["causes"]] if self.ladder else []

    @property
    def last_evidence_at(self) -> datetime:
        """When the last finding, or anything of a test as received, was written."""
        every = self._tests
        received = [test for test in every.tests if test.when == Test.When.AS_RECEIVED]
        keys = {test.pk for test in received}
        recorded = [row for row in every.recordings if row.test_id in keys]
        measured = [row for row in every.measurements if row.test_id in keys]
        rows = (*self._findings, *received, *recorded, *measured)
        return max((row.entered_at for row in rows), default=self.job.taken_in_at)

    @cached_property
    def _causes(self) -> list[ConfirmedCause]:
        return list(self.job.causes.select_related("entered_by"))

    @property
    def cause(self) -> ConfirmedCause | None:
        """The main cause that holds."""
        return _last(standing(self._causes))

    @property
    def contributing(self) -> list[str]:
        """Names of the causes that contributed."""
        return [cause_name(key) for key in self.cause.contributing] if self.cause else []

    @cached_property
    def _options(self) -> list[EstimateOption]:
        return list(self.job.options.select_related("entered_by"))

    @property
    def options(self) -> list[EstimateOption]:
        """The options that hold."""
        return standing(self._options)

    @cached_property
    def _answers(self) -> list[EstimateAnswer]:
        return list(self.job.answers.select_related("entered_by", "option"))

    @property
    def answer(self) -> EstimateAnswer | None:
        """The office's answer that holds."""
        return _last(standing(self._answers))

    @cached_property
    def _parts(self) -> list[PartUsed]:
        return list(self.job.parts.select_related("entered_by"))

    @property
    def parts(self) -> list[PartUsed]:
        """The parts used."""
        return standing(self._parts)

    @cached_property
    def _run_ins(self) -> list[RunIn]:
        return list(self.job.run_ins.select_related("entered_by"))

    @property
    def run_ins(self) -> list[RunIn]:
        """The minutes of running in."""
        return standing(self._run_ins)

    @cached_property
    def _notes(self) -> list[JobNote]:
        return list(self.job.notes.select_related("entered_by"))

    @property
    def notes(self) -> list[JobNote]:
        """The notes that hold."""
        return standing(self._notes)

    @cached_property
    def papers(self) -> list[IssuedPaper]:
        """The papers issued, the latest first."""
        return list(self.job.papers.select_related("file", "issued_by"))

    @property
    def complaints(self) -> list[Complaint]:
        """The complaints ticked, as the catalogue words them."""
        known = load().complaints
        return [known[key] for key in self.job.complaints if key in known]

    @property
    def is_out_of_use(self) -> bool:
        """True where a complaint takes the handpiece out of use at once."""
        return any(complaint.out_of_use for complaint in self.complaints)

    @cached_property
    def history(self) -> Sequence[HistoryLine]:
        """Everything written, the latest first."""
        tests = self._tests
        rows: list[Model] = [
            *self.steps,
            *tests.tests,
            *tests.recordings,
            *tests.measurements,
            *self._tachometer_readings,
            *self._findings,
            *self._own_views,
            *self._ladders,
            *self._causes,
            *self._options,
            *self._answers,
            *self._parts,
            *self._run_ins,
            *self._notes,
            *self.papers,
        ]
        return history_of(rows)


def _last(rows: Sequence[T]) -> T | None:
    return rows[-1] if rows else None
