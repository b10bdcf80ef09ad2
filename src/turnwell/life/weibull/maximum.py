"""The likeliest shape and scale.

Failures at known ages leave one dimension: for a shape b the likeliest scale is closed, and the
slope in b falls throughout, with late entry too (it is a mean of log ages under a weight that
moves to higher ages as b grows). Failures between looks need both dimensions.

References
----------
[COHEN1965]; [KLEINMOESCHBERGER2003], 3.4 for late entry.
"""

from dataclasses import dataclass
from math import exp, hypot, log

import numpy as np

from turnwell.errors import CannotTellError
from turnwell.life.weibull.likelihood import Likelihood, Terms
from turnwell.life.weibull.looks import Looks
from turnwell.life.weibull.rooting import falling_root

__all__ = [
    "LOG_SHAPE_HIGH",
    "LOG_SHAPE_LOW",
    "Maximum",
    "maximum_of",
    "refuse_endless",
    "scale_for",
]

# Shapes searched: lives of real things lie well inside. What runs to an end has no maximum.
LOG_SHAPE_LOW = log(1e-3)
LOG_SHAPE_HIGH = log(1e4)
_EDGE = 1e-6
# Looks lie too far apart in practice to tell a steeper shape from one without end.
_LOG_SHAPE_SEEN = log(1e3)
# Least information on ln shape, and on ln scale, with the other one free, at a top that is one; a
# failure brings information near 1.
_FLAT = 1e-4
_MOST_STEPS = 200


@dataclass(frozen=True, slots=True)
class Maximum:
    """Ln shape `a` and ln scale `m` (less the unit of the likelihood), and the terms there."""

    a: float
    m: float
    terms: Terms

    @property
    def information(self) -> float:
        """Determinant of the observed information in (a, m)."""
        return self.terms.by_aa * self.terms.by_mm - self.terms.by_am**2


def maximum_of(likelihood: Likelihood) -> Maximum:
    """Find the maximum.

    Raises
    ------
    CannotTellError
        If nothing failed, or the likelihood grows without end towards some shape.
    """
    refuse_endless(likelihood)
    if likelihood.looks is None:
        a, m = _exact_maximum(likelihood)
    else:
        a, m = _climb(likelihood, 0.0, _first_scale(likelihood, likelihood.looks))
    _refuse_edge(a, likelihood)
    found = Maximum(a, m, likelihood.at(a, m))
    bends = max(-found.terms.by_aa, -found.terms.by_mm)
    if not found.information > _FLAT * bends > 0.0:
        raise CannotTellError(
            "the lives do not settle shape and scale: the likelihood runs flat towards one end; "
            "failures whose age is known better, or units that run longer, would settle it"
        )
    return found


def refuse_endless(likelihood: Likelihood) -> None:
    """Refuse lives that allow any long scale, or any short one."""
    if likelihood.failures == 0:
        raise CannotTellError(
            "nothing failed: how long they last cannot be told; scale_bound gives the least scale "
            "for a shape that you assume"
        )
    if not likelihood.has_passed:
        raise CannotTellError(
            "all had failed before their first look: how short their lives are cannot be told; a "
            "unit seen running at some age would close it"
        )


def scale_for(likelihood: Likelihood, a: float) -> float:
    """Give the likeliest ln scale for ln shape `a`, where all failures have known ages."""
    b = exp(a)
    return log(likelihood.exposure(b).total / likelihood.exact) / b


def _exact_maximum(likelihood: Likelihood) -> tuple[float, float]:
    mean = likelihood.exact_sum / likelihood.exact

    def slope(a: float) -> tuple[float, float]:
        b = exp(a)
        total, first, second = likelihood.exposure(b)
        place = first / total
        value = 1.0 / b + mean - place
        # In ln b, and times b, where the root is nearly a straight line's.
        return b * value, b * (value - 1.0 / b - b * (second / total - place * place))

    a = falling_root(slope, 0.5, LOG_SHAPE_LOW, LOG_SHAPE_HIGH)
    return a, scale_for(likelihood, a)


def _first_scale(likelihood: Likelihood, looks: Looks) -> float:
    """Give ln scale at which a shape of 1 expects as many failures as there were."""
    middle = 0.5 * (np.exp(looks.log_low) + np.exp(looks.log_high))
    watched = likelihood.exposure(1.0).total + float(middle @ looks.times)
    return log(watched / likelihood.failures)


def _climb(likelihood: Likelihood, a: float, m: float) -> tuple[float, float]:
    """Climb by Newton steps, shortened and stiffened until each one gains."""
    terms = likelihood.at(a, m)
    stiff = 0.0
    for _ in range(_MOST_STEPS):
        # Stiffened until the bend is that of a hill.
        aa, mm, am = terms.by_aa - stiff, terms.by_mm - stiff, terms.by_am
        bend = aa * mm - am * am
        if aa >= 0.0 or bend <= 0.0:
            stiff = max(2.0 * stiff, 1e-3 * (abs(terms.by_aa) + abs(terms.by_mm)), 1e-8)
            continue
        step_a = (am * terms.by_m - mm * terms.by_a) / bend
        step_m = (am * terms.by_a - aa * terms.by_m) / bend
        shortened = min(1.0, 2.0 / max(hypot(step_a, step_m), 1e-300))
        new_a = min(max(a + shortened * step_a, LOG_SHAPE_LOW), LOG_SHAPE_HIGH)
        new_m = m + shortened * step_m
        if hypot(new_a - a, new_m - m) < 1e-10:
            break
        new = likelihood.at(new_a, new_m)
        if new.value >= terms.value:
            a, m, terms, stiff = new_a, new_m, new, stiff / 10.0 if stiff > 1e-12 else 0.0
        elif stiff > 1e12:
            break
        else:
            stiff = max(4.0 * stiff, 1e-3 * (abs(terms.by_aa) + abs(terms.by_mm)), 1e-8)
    return a, m


def _refuse_edge(a: float, likelihood: Likelihood) -> None:
    failed = (
        "the one failure lies"
        if likelihood.failures == 1
        else f"the {likelihood.failures} failures lie"
    )
    if a > (LOG_SHAPE_HIGH if likelihood.looks is None else _LOG_SHAPE_SEEN) - _EDGE:
        raise CannotTellError(
            f"{failed} at one age that none was seen to pass: the shape has no upper end; units "
            "that run longer would close it"
        )
    if a < LOG_SHAPE_LOW + _EDGE:
        raise CannotTellError(
            f"{failed} thicker at low ages than any Weibull life allows, and no unit was watched "
            "from new: shape and scale cannot be told; lives watched from new would tell"
        )
