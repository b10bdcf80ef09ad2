"""Causes as bars: what their values refuse, where bars end, what stands beside them."""

import pytest

from turnwell.errors import InputError
from turnwell.pictures import Estimated, IncidenceRow, IncidenceShown, RowKind

DRY = IncidenceRow("Too little lubricant", Estimated(0.31, 0.22, 0.41), 23)


def test_a_share_lies_between_nothing_and_all():
    with pytest.raises(InputError, match="no share"):
        IncidenceRow("Dropped", Estimated(0.9, 0.7, 1.2), 3)
    with pytest.raises(InputError, match="no share"):
        IncidenceRow("Dropped", Estimated(0.1, 0.0, 0.3), 3, before=Estimated(0.1, -0.1, 0.2))
    with pytest.raises(InputError, match="below 0"):
        IncidenceRow("Dropped", Estimated(0.1, 0.0, 0.3), -3)


def test_a_cause_has_its_name_and_the_picture_has_a_row():
    with pytest.raises(InputError, match="its name"):
        IncidenceRow("", Estimated(0.1, 0.0, 0.3), 3)
    assert IncidenceRow("", Estimated(0.1, 0.0, 0.3), 3, kind=RowKind.NOT_SETTLED).returns == 3
    with pytest.raises(InputError, match="one row"):
        IncidenceShown("one year after hand-back", (), 12)


def test_before_and_after_are_told_apart_once_a_row_has_both():
    assert not IncidenceShown("one year after hand-back", (DRY,), 60).has_before
    both = IncidenceRow("Dropped", Estimated(0.1, 0.0, 0.3), 3, before=Estimated(0.2, 0.1, 0.4))
    assert IncidenceShown("one year after hand-back", (DRY, both), 60, 40).has_before
