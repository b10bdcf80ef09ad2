"""The records of a job."""

from turnwell.web.jobs.models.checked import TachometerReading
from turnwell.web.jobs.models.estimate import EstimateAnswer, EstimateOption, OptionKind
from turnwell.web.jobs.models.explained import (
    ConfirmedCause,
    Finding,
    FindingPhoto,
    OwnView,
    ShownLadder,
)
from turnwell.web.jobs.models.job import Job, JobNote, Stage, StageChange, Waiting
from turnwell.web.jobs.models.paper import IssuedPaper
from turnwell.web.jobs.models.rebuilt import PartUsed, RunIn
from turnwell.web.jobs.models.tested import Measurement, Recording, StoredReading, Test

__all__ = [
    "ConfirmedCause",
    "EstimateAnswer",
    "EstimateOption",
    "Finding",
    "FindingPhoto",
    "IssuedPaper",
    "Job",
    "JobNote",
    "Measurement",
    "OptionKind",
    "OwnView",
    "PartUsed",
    "Recording",
    "RunIn",
    "ShownLadder",
    "Stage",
    "StageChange",
    "StoredReading",
    "TachometerReading",
    "Test",
    "Waiting",
]
