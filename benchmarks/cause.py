"""Calibration and speed of the cause ranking, on cases drawn from its own table.

    python benchmarks/cause.py [--cases 4000] [--seed 1]

Cases are drawn from the table with dependence put in: findings of one group share a latent normal
variable (correlation 0.5 between any two), so that the table's levels hold and naive Bayes' own
assumption does not. Printed for each weighting: the Brier score (sum over the causes), how often
the first cause is the true one, what it states on average, and a reliability table of the first
cause. Then the hit rate behind each wording, the false alarms of "nothing listed fits", and the
time of one ranking against a plain naive Bayes of scikit-learn where that is installed.

These are ceilings: a real bench does not draw its cases from this table.
"""

import argparse
import time
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from turnwell import catalogue, cause

CLASSES = ("air_turbine_4_hole", "low_speed_air_motor", "contra_angle_reducing")
ASKED_SHARE = 0.6
CORRELATION = 0.5
BINS = np.linspace(0.0, 1.0, 11)


@dataclass(frozen=True)
class Case:
    """A made-up job: its true cause, and what was answered."""

    true: int
    answers: cause.Answers


def drawn_cases(
    table: cause.Table, count: int, rng: np.random.Generator, *, short_list: bool
) -> list[Case]:
    """Draw cases whose findings hang together inside each group."""
    listed = {key for key, row in catalogue.load().findings.items() if row.in_short_list}
    asked = [i for i, row in enumerate(table.findings) if not short_list or row.key in listed]
    group_of = [
        next((g for g, group in enumerate(table.groups) if row.key in group), -1)
        for row in table.findings
    ]
    threshold = np.vectorize(NormalDist().inv_cdf)(table.levels)
    cases = []
    for _ in range(count):
        true = int(rng.choice(len(table.causes), p=table.shares()))
        named = int(rng.choice(len(table.complaints), p=table.complaint_shares[:, true]))
        shared = rng.standard_normal(len(table.groups))
        seen, not_seen = [], []
        for i in asked:
            if rng.random() > ASKED_SHARE:
                continue
            latent = rng.standard_normal()
            if group_of[i] >= 0:
                latent = np.sqrt(CORRELATION) * shared[group_of[i]] + (
                    np.sqrt(1.0 - CORRELATION) * latent
                )
            (seen if latent < threshold[i, true] else not_seen).append(table.findings[i].key)
        answers = cause.Answers((table.complaints[named].key,), tuple(seen), tuple(not_seen))
        cases.append(Case(true, answers))
    return cases


def scores(table: cause.Table, cases: list[Case], *, is_tempered: bool) -> None:
    """Print Brier score, hit rates and reliability of the first cause."""
    chances = np.array(
        [cause.probabilities(table, case.answers, is_tempered=is_tempered) for case in cases]
    )
    true = np.array([case.true for case in cases])
    aim = np.eye(len(table.causes))[true]
    stated = chances.max(axis=1)
    hit = chances.argmax(axis=1) == true
    rank = (chances > chances[np.arange(len(true)), true][:, None]).sum(axis=1)
    print(
        f"  {'group weights' if is_tempered else 'no weights':14}"
        f"Brier {((chances - aim) ** 2).sum(axis=1).mean():.3f}"
        f"   first right {hit.mean():.2f}, stated {stated.mean():.2f}"
        f"   among first three {(rank < 3).mean():.2f}"
    )
    place = np.digitize(stated, BINS[1:-1])
    cells = [
        f"{stated[place == b].mean():.2f}/{hit[place == b].mean():.2f} ({(place == b).sum()})"
        for b in range(len(BINS) - 1)
        if (place == b).sum() >= 20
    ]
    print("    stated/right (cases): " + "  ".join(cells))


def wordings(table: cause.Table, cases: list[Case]) -> None:
    """Print the hit rate behind each wording."""
    found: dict[str, list[tuple[bool, bool, bool]]] = {}
    catch_all = [row.key for row in table.causes].index("something_else")
    false_alarms = true_alarms = strange = 0
    for case in cases:
        ladder = cause.rank(
            table,
            complaints=case.answers.complaints,
            seen=case.answers.seen,
            not_seen=case.answers.not_seen,
            draws=100,
        )
        keys = [rung.key for rung in ladder.rungs]
        place = keys.index(table.causes[case.true].key)
        found.setdefault(ladder.answer.value, []).append((place < 1, place < 2, place < 3))
        is_alarm = ladder.answer is cause.Answer.NOTHING_FITS
        is_strange = case.true == catch_all
        strange += is_strange
        true_alarms += is_alarm and is_strange
        false_alarms += is_alarm and not is_strange
    for answer, hits in sorted(found.items()):
        first, two, three = np.mean(hits, axis=0)
        print(
            f"  {answer:20}{len(hits) / len(cases):5.2f} of cases"
            f"   right {first:.2f}, in two {two:.2f}, in three {three:.2f}"
        )
    print(
        f"  nothing listed fits: falsely in {false_alarms / (len(cases) - strange):.2f}, "
        f"rightly in {true_alarms / max(strange, 1):.2f} of {strange}"
    )


def timing(table: cause.Table, cases: list[Case]) -> None:
    """Print the time of one ranking with its 2,000 draws, and of a plain naive Bayes."""
    some = cases[:50]
    cause.rank(table, complaints=some[0].answers.complaints)
    start = time.perf_counter()
    for case in some:
        cause.rank(
            table,
            complaints=case.answers.complaints,
            seen=case.answers.seen,
            not_seen=case.answers.not_seen,
        )
    ladder_s = (time.perf_counter() - start) / len(some)
    print(f"  one ladder with 2,000 draws: {1e3 * ladder_s:.1f} ms")
    start = time.perf_counter()
    for case in some:
        cause.probabilities(table, case.answers)
    plain_s = (time.perf_counter() - start) / len(some)
    print(f"  its probabilities alone: {1e3 * plain_s:.2f} ms")
    try:
        from sklearn.naive_bayes import BernoulliNB
    except ImportError:
        print("  scikit-learn is not installed: no comparison of time")
        return
    reference = BernoulliNB().fit(np.eye(len(table.findings)), np.arange(len(table.findings)))
    row = np.zeros((1, len(table.findings)))
    start = time.perf_counter()
    for _ in range(50):
        reference.predict_proba(row)
    reference_s = (time.perf_counter() - start) / 50
    print(
        f"  one prediction of scikit-learn's BernoulliNB: {1e3 * reference_s:.2f} ms; "
        f"ratio {plain_s / reference_s:.1f} without draws, {ladder_s / reference_s:.0f} with"
    )


def main() -> None:
    """Run all of it."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cases", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    arguments = parser.parse_args()
    rng = np.random.default_rng(arguments.seed)
    for class_key in CLASSES:
        table = cause.table_for(catalogue.load(), class_key)
        for short_list in (True, False):
            cases = drawn_cases(table, arguments.cases, rng, short_list=short_list)
            print(f"{class_key}, {ASKED_SHARE:.0%} of {'the short list' if short_list else 'all'}")
            scores(table, cases, is_tempered=True)
            scores(table, cases, is_tempered=False)
            wordings(table, cases)
    timing(table, cases)


if __name__ == "__main__":
    main()
