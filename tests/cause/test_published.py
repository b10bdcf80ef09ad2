"""Check values worked out apart from this code, and a comparison with a reference library.

The worked values were computed by another program from the tables that the catalogue holds. The
comparison is with scikit-learn's naive Bayes.
"""

import numpy as np
import pytest
from sklearn.naive_bayes import BernoulliNB, CategoricalNB

from turnwell import catalogue, cause

TOLERANCE = 0.001
cat = catalogue.load()
TURBINE, MOTOR, GEARED = "air_turbine_4_hole", "low_speed_air_motor", "contra_angle_reducing"


def chances(class_key, complaints=(), seen=(), not_seen=(), *, is_tempered=True, **options):
    table = cause.table_for(cat, class_key, **options)
    answers = cause.Answers(complaints, seen, not_seen)
    found = cause.probabilities(table, answers, is_tempered=is_tempered)
    return {row.key: float(found[i]) for i, row in enumerate(table.causes)}


def complaint_share(complaint, main):
    table = cause.table_for(cat, TURBINE)
    row = [item.key for item in table.complaints].index(complaint)
    column = [item.key for item in table.causes].index(main)
    return float(table.complaint_shares[row, column])


def test_complaint_shares():
    assert complaint_share("leaks_water_or_air", "seals_hardened") == pytest.approx(
        0.90 / 2.37, abs=TOLERANCE
    )
    assert complaint_share("no_torque", "debris_baked_in") == pytest.approx(0.1493, abs=TOLERANCE)


RUSTY = (("rattles_or_rough",), ("feel_rough", "rust_on_bearings"), ("water_in_drive_line",))


@pytest.mark.parametrize(
    ("class_key", "answers", "is_tempered", "expected"),
    [
        (
            TURBINE,
            (("rattles_or_rough",),),
            True,
            {"debris_baked_in": 0.194, "too_little_lubricant": 0.140, "worn_out": 0.102},
        ),
        (
            TURBINE,
            RUSTY,
            False,
            {"moisture_corrosion": 0.348, "too_little_lubricant": 0.243, "debris_baked_in": 0.112},
        ),
        (
            TURBINE,
            RUSTY,
            True,
            {"moisture_corrosion": 0.336, "too_little_lubricant": 0.241, "debris_baked_in": 0.112},
        ),
        (
            TURBINE,
            (("leaks_water_or_air",), ("leak_found", "o_rings_hard"), ("repaired_lately",)),
            True,
            {"seals_hardened": 0.847, "chemical_residue": 0.021, "worn_out": 0.020},
        ),
        (
            GEARED,
            (("runs_hot",), ("gears_worn",), ("rust_on_bearings",)),
            True,
            {"too_little_lubricant": 0.355, "worn_out": 0.273, "debris_baked_in": 0.131},
        ),
        (
            MOTOR,
            (
                ("will_not_turn",),
                ("rust_on_bearings", "rust_elsewhere"),
                ("water_in_drive_line",),
            ),
            True,
            {
                "moisture_corrosion": 0.698,
                "wrong_or_excess_lubricant": 0.063,
                "drive_air_wet_or_dirty": 0.056,
            },
        ),
    ],
)
def test_first_three_causes(class_key, answers, is_tempered, expected):
    found = chances(class_key, *answers, is_tempered=is_tempered)
    first_three = sorted(found, key=found.get, reverse=True)[:3]
    assert first_three == list(expected)
    for key, value in expected.items():
        assert found[key] == pytest.approx(value, abs=TOLERANCE)


@pytest.mark.parametrize(
    ("answers", "low", "high"),
    [
        (RUSTY, 0.07, 0.63),
        (
            (("leaks_water_or_air",), ("leak_found", "o_rings_hard"), ("repaired_lately",)),
            0.7,
            0.94,
        ),
    ],
)
def test_range_of_the_first(answers, low, high):
    complaints, seen, not_seen = answers
    table = cause.table_for(cat, TURBINE)
    ladder = cause.rank(
        table, complaints=complaints, seen=seen, not_seen=not_seen, rng=np.random.default_rng(7)
    )
    assert ladder.first.low == pytest.approx(low, abs=0.03)
    assert ladder.first.high == pytest.approx(high, abs=0.03)


def test_range_agrees_with_drawing_every_cell():
    # Another route: every cell drawn from its own Beta, 20,000 times, no shared pool.
    complaints, seen, not_seen = RUSTY
    table = cause.table_for(cat, TURBINE)
    ladder = cause.rank(table, complaints=complaints, seen=seen, not_seen=not_seen, draws=20_000)
    rng = np.random.default_rng(11)
    log_odds = np.log(rng.dirichlet(table.share_cases, 20_000))
    complaint = [row.key for row in table.complaints].index("rattles_or_rough")
    half = 1 / np.sqrt(2)
    log_odds += half * np.log(table.complaint_shares[complaint])
    for key, weight in (("feel_rough", half), ("rust_on_bearings", 1), ("water_in_drive_line", 1)):
        row = [item.key for item in table.findings].index(key)
        cell = rng.beta(
            table.seen_cases[row],
            table.looked_cases[row] - table.seen_cases[row],
            (20_000, len(table.causes)),
        )
        log_odds += weight * np.log(cell if key in seen else 1 - cell)
    odds = np.exp(log_odds)
    odds /= odds.sum(axis=1, keepdims=True)
    low, high = np.quantile(odds, [0.05, 0.95], axis=0)
    for i, row in enumerate(table.causes):
        rung = ladder.rung(row.key)
        assert rung.high == pytest.approx(max(high[i], rung.probability), abs=0.02)
        assert rung.low == pytest.approx(min(low[i], rung.probability), abs=0.02)


def test_what_to_look_at_next():
    table = cause.table_for(cat, TURBINE)
    answers = cause.Answers(("no_torque",))
    found = cause.gains(table, answers)
    best = [(gain.finding.key, round(gain.bit_per_minute, 3)) for gain in found[:3]]
    assert best == [
        ("bearings_dry", 0.242),
        ("rust_on_bearings", 0.210),
        ("debris_packed", 0.200),
    ]
    most = max(found, key=lambda gain: gain.bit)
    assert (most.finding.key, round(most.bit, 3)) == ("leak_found", 0.270)
    entropy = cause.rank(table, complaints=["no_torque"]).entropy_bit
    assert entropy == pytest.approx(3.683, abs=TOLERANCE)


def test_own_cases_move_a_cell():
    # Level "often" 0.6 worth 8 cases; 5 looked, 1 seen: 5.8 / 13.
    cases = [cause.ConfirmedCase("worn_out", seen=("feel_rough",))]
    cases += [cause.ConfirmedCase("worn_out", not_seen=("feel_rough",))] * 4
    table = cause.table_for(cat, TURBINE, counts=cause.ShopCounts.from_cases(cases))
    row = [item.key for item in table.findings].index("feel_rough")
    column = [item.key for item in table.causes].index("worn_out")
    assert table.levels[row, column] == pytest.approx(5.8 / 13, abs=1e-12)


def test_own_cases_move_shares_and_the_office_moves_them_on():
    # (40·0.140 + 1) / (40 + 20) = 0.110; then (10·0.110 + 3) / (10 + 4) = 0.293.
    counts = cause.ShopCounts({"debris_baked_in": 1, "worn_out": 19})
    office = cause.ShopCounts({"debris_baked_in": 3, "worn_out": 1})
    shop = chances(TURBINE, counts=counts)
    assert shop["debris_baked_in"] == pytest.approx(6.6 / 60, abs=1e-9)
    both = chances(TURBINE, counts=counts, office_counts=office)
    assert both["debris_baked_in"] == pytest.approx((1.1 + 3) / 14, abs=1e-9)


def reference_log_odds(table, cases):
    """Fit scikit-learn's classifiers to the table's levels as 8 cases each, and to own cases.

    The five levels are hundredths, so 100 made-up cases of weight 8/100 hold each level exactly.
    """
    keys = [row.key for row in table.findings]
    rows, labels, weights = [], [], []
    shipped = cause.table_for(cat, table.class_key).levels
    for column in range(len(table.causes)):
        counts = np.rint(100 * shipped[:, column]).astype(int)
        rows.append(np.arange(100)[:, None] < counts[None, :])
        labels += [column] * 100
        weights += [0.08] * 100
    for case in cases:
        rows.append(np.array([[key in case.seen for key in keys]]))
        labels.append([row.key for row in table.causes].index(case.cause))
        weights.append(1.0)
    findings = BernoulliNB(alpha=1e-12, force_alpha=True, class_prior=table.shares())
    findings.fit(np.concatenate(rows), labels, sample_weight=weights)
    complaints = CategoricalNB(alpha=1e-12, force_alpha=True, class_prior=table.shares())
    count, causes = table.complaint_shares.shape
    complaints.fit(
        np.tile(np.arange(count), causes)[:, None],
        np.repeat(np.arange(causes), count),
        sample_weight=table.complaint_shares.T.ravel(),
    )
    return findings, complaints


@pytest.mark.parametrize("class_key", [TURBINE, MOTOR, GEARED, "coupler"])
def test_untempered_core_is_naive_bayes(class_key):
    rng = np.random.default_rng(3)
    plain = cause.table_for(cat, class_key)
    keys = [row.key for row in plain.findings]
    cases = []
    for _ in range(12):
        mask = rng.random(len(keys)) < 0.3
        seen = tuple(key for key, is_seen in zip(keys, mask, strict=True) if is_seen)
        not_seen = tuple(key for key in keys if key not in seen)
        main = plain.causes[rng.integers(len(plain.causes))].key
        cases.append(cause.ConfirmedCase(main, seen, not_seen))
    table = cause.table_for(cat, class_key, counts=cause.ShopCounts.from_cases(cases))
    findings, complaints = reference_log_odds(table, cases)
    for _ in range(20):
        mask = rng.random(len(keys)) < 0.3
        named = int(rng.integers(len(table.complaints)))
        log_odds = (
            findings.predict_joint_log_proba(mask[None, :])[0]
            + complaints.predict_joint_log_proba([[named]])[0]
            - np.log(table.shares())
        )
        expected = np.exp(log_odds - log_odds.max())
        expected /= expected.sum()
        answers = cause.Answers(
            (table.complaints[named].key,),
            tuple(key for key, is_seen in zip(keys, mask, strict=True) if is_seen),
            tuple(key for key, is_seen in zip(keys, mask, strict=True) if not is_seen),
        )
        found = cause.probabilities(table, answers, is_tempered=False)
        np.testing.assert_allclose(found, expected, atol=1e-8)
