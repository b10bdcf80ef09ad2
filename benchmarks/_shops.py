"""The simulated shops that campaigns on lives share, and how a line of them is written."""

from dataclasses import replace
from math import sqrt

import numpy as np
from tests.life.shops import DAYS_A_YEAR, Counts, Law, Plan

from turnwell.life import Estimate

WARRANTY_DAYS = DAYS_A_YEAR / 2.0

USUAL = Plan(offices=25, handpieces=14.0)
SHOPS = {
    "as assumed": USUAL,
    "known by failure": replace(USUAL, known_by_failure=0.6),
    "ageing": replace(USUAL, shape=1.5),
    "renewed by repair": replace(USUAL, law=Law.RENEWAL, shape=1.6),
    "offices alike": replace(USUAL, office_spread=0.0),
    "handpieces unlike": replace(USUAL, handpiece_spread=1.0),
    "six small offices": replace(USUAL, offices=6, handpieces=5.0),
}
WORN = Plan(
    offices=12,
    handpieces=12.0,
    office_spread=0.0,
    handpiece_spread=0.0,
    law=Law.RENEWAL,
    shape=2.0,
    rate_a_year=0.5,
)


def row(what: str, measured: str, aim: str) -> dict[str, str]:
    return {"what": what, "measured": measured, "aim": aim}


def share(hits: list[bool]) -> str:
    """Write a share in per cent with its standard error."""
    mean = float(np.mean(hits))
    return f"{100 * mean:.1f} % (± {100 * sqrt(mean * (1 - mean) / len(hits)):.1f})"


def holds(estimate: Estimate, truth: float) -> bool:
    return estimate.low <= truth <= estimate.high


def expected_of(counts: Counts) -> np.ndarray:
    """Give what the shop's own rate of that time gives for each handpiece."""
    return counts.exposure_days * (counts.count.sum() / counts.exposure_days.sum())
