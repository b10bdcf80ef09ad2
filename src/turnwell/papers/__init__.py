"""Papers as PDF from typed values: test sheet, estimate, label, cycle review, office review."""

from turnwell.papers.cycle_review import cycle_review
from turnwell.papers.cycle_values import (
    Advice,
    CycleReview,
    FaultFound,
    Months,
    Picture,
    ReviewedRun,
)
from turnwell.papers.estimate import estimate
from turnwell.papers.label import label
from turnwell.papers.office_review import office_review
from turnwell.papers.office_values import (
    HandpieceBack,
    MoneyShown,
    OfficeReviewPaper,
    TrainingChecked,
    Untold,
)
from turnwell.papers.sheet import test_sheet
from turnwell.papers.values import (
    Answered,
    CauseNamed,
    EstimateSheet,
    FindingLine,
    JobFacts,
    Label,
    Option,
    PageSize,
    Pair,
    SetUp,
    ShopHead,
    TestSheet,
)
from turnwell.pictures import WeekPart

__all__ = [
    "Advice",
    "Answered",
    "CauseNamed",
    "CycleReview",
    "EstimateSheet",
    "FaultFound",
    "FindingLine",
    "HandpieceBack",
    "JobFacts",
    "Label",
    "MoneyShown",
    "Months",
    "OfficeReviewPaper",
    "Option",
    "PageSize",
    "Pair",
    "Picture",
    "ReviewedRun",
    "SetUp",
    "ShopHead",
    "TestSheet",
    "TrainingChecked",
    "Untold",
    "WeekPart",
    "cycle_review",
    "estimate",
    "label",
    "office_review",
    "test_sheet",
]
