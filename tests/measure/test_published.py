"""Worked examples of the guides, digit for digit."""

from math import inf

import pytest

from turnwell.measure import Basis, Budget, Limit, Part, Verdict, gauge_error, reading, verdict_on


def test_matches_end_gauge_example_of_jcgm_100() -> None:
    """[JCGM100] H.1.6: u_c = 32 nm, 16 effective degrees of freedom, U99 = 93 nm (k = 2.92)."""
    parts = (
        Part("standard", 25.0, 18.0),
        Part("difference", 9.7, 25.6),
        Part("expansion difference", 2.9, 50.0),
        Part("temperature difference", 16.6, 2.0),
    )
    budget = Budget(50_000_838.0, parts)
    assert budget.standard == pytest.approx(31.7, abs=0.05)
    assert int(budget.degrees) == 16
    # The guide cuts the degrees of freedom to the whole number below and prints k = 2.92.
    cut = Budget(0.0, (Part("all", 1.0, 16.0),))
    assert cut.coverage_factor(0.99) == pytest.approx(2.92, abs=0.005)
    assert cut.coverage_factor(0.99) * budget.standard == pytest.approx(93.0, abs=0.7)


@pytest.mark.parametrize(
    ("degrees", "factor"),
    [(1, 12.71), (2, 4.30), (3, 3.18), (5, 2.57), (10, 2.23), (20, 2.09), (50, 2.01), (inf, 1.960)],
)
def test_matches_student_table_of_jcgm_100(degrees: float, factor: float) -> None:
    """[JCGM100] Table G.2, column p = 95 %."""
    assert Budget(0.0, (Part("a", 1.0, degrees),)).coverage_factor() == pytest.approx(
        factor, abs=0.005
    )


def test_matches_rectangular_bound_example_of_jcgm_100() -> None:
    """[JCGM100] 4.3.7, example 1: a handbook value within ± 0.40e-6 has u = 0.23e-6."""
    assert gauge_error(0.40).standard == pytest.approx(0.23, abs=0.005)


def test_matches_resistor_example_of_jcgm_106() -> None:
    """[JCGM106] 8.3.2.3 idea: guard bands of the expanded uncertainty on both sides.

    Tolerance 1.500 to 1.502 with U = 0.0004: acceptance zone 1.5004 to 1.5016. Numbers of the
    construction recomputed here from the clause, not copied from its text.
    """
    tolerance = Limit(1.500, 1.502, "example", Basis.READ)
    half = 0.0004
    assert verdict_on(1.5010 - half, 1.5010 + half, tolerance) is Verdict.WITHIN
    assert verdict_on(1.5003 - half, 1.5003 + half, tolerance) is Verdict.NOT_PROVEN
    assert verdict_on(1.5025 - half, 1.5025 + half, tolerance) is Verdict.OUTSIDE


@pytest.mark.parametrize(("measured", "verdict"), [(360_000.0, "within"), (359_999.0, "outside")])
def test_matches_ten_percent_rule_without_uncertainty(measured: float, verdict: str) -> None:
    """Stated speed 400,000 rpm ± 10 % (ISO 14457, secondary): 360,000 is in, 359,999 is out."""
    limit = Limit(360_000.0, 440_000.0, "stated speed ± 10 %", Basis.SECONDARY)
    held = reading("free_running_speed", measured, measured, measured, "rpm", limit=limit)
    assert held.verdict == verdict
