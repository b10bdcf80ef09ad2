"""Papers as PDF from typed values: test sheet, estimate, label."""

from turnwell.papers.estimate import estimate
from turnwell.papers.label import label
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

__all__ = [
    "Answered",
    "CauseNamed",
    "EstimateSheet",
    "FindingLine",
    "JobFacts",
    "Label",
    "Option",
    "PageSize",
    "Pair",
    "SetUp",
    "ShopHead",
    "TestSheet",
    "estimate",
    "label",
    "test_sheet",
]
