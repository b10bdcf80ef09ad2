"""Faults of runs that an independent generator spoiled, and none in those it left clean."""

import pytest

from tests.steam.truth.faults import FAULTS, clean_case, faulty_case
from tests.steam.truth.plans import Kind
from tests.steam.truth.scoring import alarms, missed, review_of

SEEDS = range(500, 503)


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("name", sorted(FAULTS))
def test_a_spoiled_run_shows_its_fault_and_no_other(name: str, seed: int):
    case = faulty_case(name, seed)
    review = review_of(case)
    assert missed(case, review) == set()
    assert alarms(case, review) == set()


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("kind", list(Kind))
def test_a_clean_run_shows_none(kind: Kind, seed: int):
    case = clean_case(kind, seed)
    assert review_of(case).faults == ()
