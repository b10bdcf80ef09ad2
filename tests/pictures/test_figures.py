"""How numbers are written.

Source of the rounding rule and its examples: Review of Particle Physics, Introduction, section 5.3
(0.827 ± 0.119 is written 0.83 ± 0.12, and 0.827 ± 0.367 is written 0.8 ± 0.4); from memory.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from turnwell.measure import Basis, Limit, Verdict, cannot_tell, reading
from turnwell.pictures import figures_of, in_units, written
from turnwell.pictures.figures import decimals_for, grams_less
from turnwell.words import Message


def at_least(low):
    return Limit(low=low, high=None, source="label", basis=Basis.OWN)


@pytest.mark.parametrize(("half", "shown"), [(0.119, ("0.83", "0.12")), (0.367, ("0.8", "0.4"))])
def test_it_rounds_as_published(half, shown):
    decimals = decimals_for(half)
    assert (written(0.827, decimals), written(half, decimals)) == shown


@given(value=st.floats(0.001, 1e6), half=st.floats(1e-4, 1e3), low=st.floats(0.001, 1e6))
def test_figures_never_contradict_the_verdict(value, half, low):
    one = reading("speed_heard", value, value - half, value + half, "rpm", limit=at_least(low))
    figures = figures_of(one)
    ends = [float(end.replace(",", "").replace("−", "-")) for end in (figures.low, figures.high)]
    if abs(one.low - low) < 1e-6 or abs(one.high - low) < 1e-6:
        return  # nearer to the limit than the digits that are ever shown
    if one.verdict is Verdict.WITHIN:
        assert ends[0] > low
    elif one.verdict is Verdict.OUTSIDE:
        assert ends[1] < low
    else:
        assert ends[0] < low < ends[1]


def test_a_limit_is_written_with_the_digits_of_the_value():
    one = reading(
        "run_out", 0.031, 0.026, 0.036, "mm", limit=Limit(None, 0.03, "sheet", Basis.MEMORY)
    )
    assert figures_of(one).limit == "at most 0.030"


def test_nothing_is_written_where_nothing_can_be_told():
    one = cannot_tell("run_out", "mm", Message("measure.not_measured"))
    assert figures_of(one).value is None


def test_it_converts_value_interval_and_limit_together():
    # 1 psi = 6.894757 kPa: NIST SP 811, appendix B.8.
    kpa = reading(
        "drive_air_pressure", 6.894757 * 32, 6.894757 * 31, 6.894757 * 33, "kPa",
        limit=at_least(6.894757 * 30),
    )  # fmt: skip
    psi = in_units(kpa, {"kPa": "psi"})
    assert (psi.unit, psi.verdict) == ("psi", kpa.verdict)
    assert [psi.value, psi.low, psi.high, psi.limit.low] == pytest.approx([32, 31, 33, 30], 1e-6)


def test_a_unit_without_conversion_stays():
    one = reading("stall_torque", 1.0, 0.9, 1.1, "mN·m")
    assert in_units(one, {"kPa": "psi"}) is one


@given(st.floats(0.1, 200.0), st.floats(0.0, 1.0), st.floats(0.0, 2.0))
def test_no_more_water_is_saved_than_is_shown_to_be_left(left_g, part, reach):
    left = reading("water_left_g", left_g, 0.0, left_g * (1.0 + reach), "g")
    said = grams_less(part * left_g, 0.0, part * left_g, left=left)
    shown = figures_of(left).value
    assert said == "less than 0.1 g less" or float(said.split(" g")[0]) <= float(shown)
    assert "(0 to " in said or said.startswith("less than")
