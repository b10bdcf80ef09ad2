"""The product-limit curve against published tables, another package, and its own laws."""

import numpy as np
import pytest

from tests.life.curves.sets import remission
from turnwell.life import Lives, product_limit

# Entries 0 0 2 3 5: at 4 one of four fails, at 6 one of four, at 8 one of two, at 9 the last.
LATE = Lives.observed([4, 6, 7, 8, 9], [1, 1, 0, 1, 1], entry=[0, 0, 2, 3, 5])


def test_it_matches_the_remission_times_of_the_textbook():
    """[KLEINMOESCHBERGER2003], table 4.1 (from memory; six digits recomputed)."""
    curve = product_limit(remission()[0])
    assert curve.time.tolist() == [6, 7, 10, 13, 16, 22, 23]
    printed = [0.857143, 0.806723, 0.752941, 0.690196, 0.627451, 0.537815, 0.448179]
    assert curve.survival == pytest.approx(printed, abs=5e-7)
    errors = [0.076360, 0.086935, 0.096350, 0.106815, 0.114054, 0.128234, 0.134591]
    assert curve.survival * np.sqrt(curve.variance) == pytest.approx(errors, abs=5e-7)


def test_a_late_entry_is_at_risk_after_its_entry_only():
    curve = product_limit(LATE)
    assert curve.at_risk.tolist() == [4, 4, 2, 1]
    assert curve.survival == pytest.approx([0.75, 0.5625, 0.28125, 0.0], abs=1e-15)
