"""What must hold for any reading and any budget."""

import json
from math import inf, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from turnwell.errors import InputError
from turnwell.measure import (
    Basis,
    Budget,
    Limit,
    Part,
    Reading,
    Verdict,
    cannot_tell,
    reading,
    repeatability,
    verdict_on,
)
from turnwell.words import Message

finite = st.floats(-1e6, 1e6)


@given(finite, st.floats(0, 1e5), finite, st.floats(0, 1e5))
def test_exactly_one_verdict_and_never_both_sides(
    middle: float, half: float, low: float, width: float
) -> None:
    limit = Limit(low, low + width, "s", Basis.OWN)
    verdict = verdict_on(middle - half, middle + half, limit)
    inside = limit.low <= middle - half and middle + half <= limit.high
    apart = middle + half < limit.low or middle - half > limit.high
    expected = Verdict.WITHIN if inside else Verdict.OUTSIDE if apart else Verdict.NOT_PROVEN
    assert verdict is expected


@given(finite, st.floats(0, 1e4))
def test_a_wider_interval_never_proves_more(middle: float, half: float) -> None:
    limit = Limit(None, 100.0, "s", Basis.OWN)
    narrow = verdict_on(middle - half, middle + half, limit)
    wide = verdict_on(middle - 2 * half - 1, middle + 2 * half + 1, limit)
    assert wide in {narrow, Verdict.NOT_PROVEN}


@given(st.lists(st.floats(0.01, 100), min_size=1, max_size=5), st.floats(1, 50))
def test_effective_degrees_lie_between_least_and_sum(sizes: list[float], degrees: float) -> None:
    budget = Budget(0.0, tuple(Part(f"p{i}", size, degrees) for i, size in enumerate(sizes)))
    assert degrees * (1 - 1e-9) <= budget.degrees <= degrees * len(sizes) * (1 + 1e-9)


def test_a_part_known_exactly_leaves_infinite_degrees() -> None:
    assert Budget(1.0, (Part("a", 1.0),)).degrees == inf
    assert Budget(1.0, ()).interval() == (1.0, 1.0)


def test_a_reading_survives_storage() -> None:
    limit = Limit(1.0, None, "s", Basis.MEMORY)
    why = Message("measure.within", {"nested": Message("verdict.within"), "number": 3.5})
    held = reading("run_out", 2.0, 1.5, 2.5, "mm", limit=limit, why=why)
    assert Reading.from_record(json.loads(json.dumps(held.as_record()))) == held


def test_cannot_tell_holds_no_number() -> None:
    told = cannot_tell("run_out", "mm", Message("measure.not_measured")).as_dict()
    assert (told["value"], told["low"], told["high"], told["verdict"]) == (
        None,
        None,
        None,
        "cannot tell",
    )
    json.dumps(told, allow_nan=False)


def test_a_stated_reason_overrules_the_interval() -> None:
    limit = Limit(1.0, 3.0, "s", Basis.OWN)
    held = reading(
        "run_out", 2.0, 2.0, 2.0, "mm", limit=limit, unproven=Message("measure.not_measured")
    )
    assert held.verdict is Verdict.NOT_PROVEN


@pytest.mark.parametrize("value", [nan, inf, -inf])
def test_a_number_that_is_none_is_refused(value: float) -> None:
    with pytest.raises(InputError, match="finite"):
        reading("run_out", value, value, value, "mm")


def test_bad_limits_are_refused() -> None:
    with pytest.raises(InputError, match="low side, a high side"):
        Limit(None, None, "s", Basis.OWN)
    with pytest.raises(InputError, match="above its high side"):
        Limit(2.0, 1.0, "s", Basis.OWN)
    with pytest.raises(InputError, match="at least 2"):
        repeatability([1.0])
    with pytest.raises(InputError, match="does not lie"):
        reading("run_out", 5.0, 1.0, 2.0, "mm")
