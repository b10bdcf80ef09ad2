"""The funnel picture: what its values refuse, where offices stand, whose names have room."""

import pytest

from turnwell.errors import InputError
from turnwell.pictures import FunnelLimits, FunnelOffice, FunnelPicture

LIMITS = FunnelLimits.of([1, 10], [0.2, 0.5], [2.5, 1.6], [0.1, 0.3], [3.5, 2.1])


def test_the_ratio_is_observed_over_expected():
    assert FunnelOffice("Fernmark", 18, 7.2).ratio == pytest.approx(2.5)


def test_an_office_without_an_expected_return_has_no_place():
    with pytest.raises(InputError, match="no place"):
        FunnelOffice("Fernmark", 1, 0.0)
    with pytest.raises(InputError, match="cannot be"):
        FunnelOffice("Fernmark", -1, 1.0)


@pytest.mark.parametrize(
    ("rows", "says"),
    [
        (([1], [0.2], [2.5], [0.1], [3.5]), "two values"),
        (([1, 2], [0.2], [2.5], [0.1], [3.5]), "one length"),
        (([0, 2], [0.2, 0.2], [2, 2], [0.1, 0.1], [3, 3]), "rise from above 0"),
        (([2, 1], [0.2, 0.2], [2, 2], [0.1, 0.1], [3, 3]), "rise from above 0"),
        (([1, 2], [0.2, 0.2], [2, 2], [0.3, 0.1], [3, 3]), "within those"),
        (([1, 2], [0.2, 0.2], [2, 2], [0.1, 0.1], [3, float("inf")]), "not a finite"),
    ],
)
def test_limits_that_make_no_funnel_are_refused(rows: tuple[list[float], ...], says: str):
    with pytest.raises(InputError, match=says):
        FunnelLimits.of(*rows)


def test_a_funnel_needs_an_office_and_a_target():
    with pytest.raises(InputError, match="one office"):
        FunnelPicture((), LIMITS)
    with pytest.raises(InputError, match="target"):
        FunnelPicture((FunnelOffice("Fernmark", 1, 2.0),), LIMITS, target=0.0)
