"""Counts and what was expected of them, checked as they are given."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from turnwell.errors import InputError

__all__ = ["checked_counts", "checked_expected", "refuse_returns_without_risk"]


def checked_counts(counts: ArrayLike) -> NDArray[np.float64]:
    """Give counts as an array, or refuse the first that is no whole number >= 0.

    >>> checked_counts([3, 0])
    array([3., 0.])
    """
    seen = np.atleast_1d(np.asarray(counts, dtype=np.float64))
    wrong = np.flatnonzero(~np.isfinite(seen) | (seen < 0.0) | (seen != np.floor(seen)))
    if wrong.size:
        at = int(wrong[0])
        raise InputError(f"count {at + 1} is {seen.flat[at]:g}; counts must be whole numbers >= 0")
    return seen


def checked_expected(expected: ArrayLike) -> NDArray[np.float64]:
    """Give expected counts as an array, or refuse the first that is not finite and >= 0.

    >>> checked_expected([2.5, 0.0])
    array([2.5, 0. ])
    """
    risk = np.atleast_1d(np.asarray(expected, dtype=np.float64))
    wrong = np.flatnonzero(~np.isfinite(risk) | (risk < 0.0))
    if wrong.size:
        at = int(wrong[0])
        raise InputError(
            f"expected count {at + 1} is {risk.flat[at]:g}; these must be finite and >= 0"
        )
    return risk


def refuse_returns_without_risk(counts: NDArray[np.float64], expected: NDArray[np.float64]) -> None:
    """Refuse the first row with returns of which none can be expected; shapes are the same."""
    unmet = np.flatnonzero((counts > 0.0) & (expected == 0.0))
    if unmet.size:
        raise InputError(
            f"row {int(unmet[0]) + 1} has returns but no expected count; give its time at risk"
        )
