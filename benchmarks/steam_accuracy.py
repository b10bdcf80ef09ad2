"""What the analysis of cycle records is worth: ``python -m benchmarks steam_accuracy``.

The runs come from the generator of the tests, which shares nothing with the analysis. Counts carry
the exact binomial bounds at 95 % (Clopper and Pearson).
"""

from collections import Counter
from collections.abc import Iterator

import numpy as np
from scipy.stats import binomtest
from tests.steam.truth.faults import FAULTS, Case, clean_case, faulty_case
from tests.steam.truth.files import draw_shape, written
from tests.steam.truth.plans import Kind
from tests.steam.truth.reading import outcome_of
from tests.steam.truth.scoring import alarms, missed, review_of, stage_errors

INTERVALS_S = (1.0, 2.0, 5.0, 10.0)
RUNS = 40
FILES = 400


def rows() -> Iterator[dict[str, str]]:
    """Yield one line a measurement."""
    yield from lethality()
    yield from stages()
    yield from readings()
    yield from false_alarms()
    yield from printers()
    yield from faults()
    yield from files()


def row(what: str, measured: str, aim: str) -> dict[str, str]:
    return {"what": what, "measured": measured, "aim": aim}


def share(count: int, total: int) -> str:
    """Write a share with its exact bounds."""
    bounds = binomtest(count, total).proportion_ci(0.95, method="exact")
    return (
        f"{count} of {total} = {100 * count / total:.1f} % "
        f"({100 * bounds.low:.1f} to {100 * bounds.high:.1f})"
    )


def lethality() -> Iterator[dict[str, str]]:
    """Tell the error of F0 by sampling; the sensor's common offset is not counted.

    The truth counts every temperature. To a tenth of a degree the rounding alone is worth up to
    1.2 %, if a plateau does not move; a long drying just below 100 °C is worth up to 0.5 % at 121.
    """
    for step_c in (0.01, 0.1):
        for interval_s in INTERVALS_S:
            size = np.abs(
                [
                    lethality_error(clean_case(kind, seed, interval_s=interval_s, step_c=step_c))
                    for kind in Kind
                    for seed in range(RUNS // 2)
                ]
            )
            aim = "0.5 %" if interval_s <= 2.0 else "4.5 %"
            measured = f"median {np.median(size):.2f} %, largest {size.max():.2f} % of {size.size}"
            yield row(f"F0, rows each {interval_s:.0f} s, to {step_c:g} °C", measured, aim)


def lethality_error(case: Case) -> float:
    """Give the error of F0 in percent."""
    found = review_of(case).reading("f0_min").value
    return 100.0 * (found / (case.truth.f0_min * 10.0 ** (case.logger.offset_k / 10.0)) - 1.0)


def stages() -> Iterator[dict[str, str]]:
    """Boundaries against their spans."""
    for kind in Kind:
        errors = []
        for seed in range(RUNS):
            case = clean_case(kind, seed)
            errors += stage_errors(case, review_of(case))
        size = np.abs([error.error_s for error in errors if np.isfinite(error.error_s)])
        within = share(sum(error.within for error in errors), len(errors))
        measured = f"{within}; 95th percentile {np.percentile(size, 95):.1f} s"
        yield row(f"boundaries, {kind.value}", measured, "2 rows or 10 s")


def readings() -> Iterator[dict[str, str]]:
    """Other readings against the truth, as logged."""
    errors: dict[str, list[float]] = {}
    for kind in Kind:
        for seed in range(RUNS // 2):
            case = clean_case(kind, seed)
            review, truth = review_of(case), case.truth
            for key, true, bias in (
                ("time_in_band_s", truth.time_in_band_s, 0.0),
                ("plateau_temperature_high_c", truth.plateau_high_c, case.logger.offset_k),
                ("drying_lowest_pressure_kpa", truth.drying_low_kpa, case.logger.offset_kpa),
            ):
                reading = review.reading(key)
                if true is not None and reading is not None and reading.value is not None:
                    errors.setdefault(key, []).append(reading.value - true - bias)
    for key, away in errors.items():
        size = np.abs(away)
        measured = f"median {np.median(size):.2f}, 95th percentile {np.percentile(size, 95):.2f}"
        yield row(f"{key} ({size.size} runs)", measured, "-")


def false_alarms() -> Iterator[dict[str, str]]:
    """Clean runs in which a fault is said."""
    total, told = 0, Counter()
    for kind in Kind:
        count = 0
        for seed in range(2 * RUNS):
            case = clean_case(kind, seed)
            said = alarms(case, review_of(case))
            told.update(said)
            count += bool(said)
        total += count
        yield row(f"false alarms, {kind.value}", share(count, 2 * RUNS), "2 %")
    said = ", ".join(f"{key} {count}" for key, count in told.items()) or "none"
    yield row("false alarms, all", f"{share(total, 2 * RUNS * len(Kind))}: {said}", "2 %")


def printers() -> Iterator[dict[str, str]]:
    """Tell of printer rolls, a row each 10 to 60 s, some to whole degrees: boundaries, alarms."""
    errors, said, total = [], Counter(), 0
    for kind in Kind:
        for seed in range(RUNS // 2):
            case = clean_case(kind, seed, printer=True)
            review = review_of(case)
            errors += stage_errors(case, review)
            said.update(alarms(case, review))
            total += bool(alarms(case, review))
    within = share(sum(error.within for error in errors), len(errors))
    yield row("boundaries, printer rolls", within, "2 rows or 10 s")
    keys = ", ".join(f"{key} {count}" for key, count in said.items()) or "none"
    yield row(
        "false alarms, printer rolls", f"{share(total, len(Kind) * RUNS // 2)}: {keys}", "2 %"
    )


def faults() -> Iterator[dict[str, str]]:
    """Tell how many runs with one fault are found out, and what else was said of them."""
    for clear in (True, False):
        for name in FAULTS:
            found, wrong = 0, Counter()
            for seed in range(RUNS):
                case = faulty_case(name, seed, clear=clear)
                review = review_of(case)
                found += not missed(case, review)
                wrong.update(alarms(case, review))
            beside = ", ".join(f"{key} {count}" for key, count in wrong.items())
            measured = share(found, RUNS) + (f"; also {beside}" if beside else "")
            what = f"{'clear' if clear else 'borderline'} {name}"
            yield row(what, measured, "all" if clear else "not counted")


def files() -> Iterator[dict[str, str]]:
    """Files of shuffled shape: read right, asked about, or wrong without a word."""
    outcomes: dict[bool, Counter[str]] = {True: Counter(), False: Counter()}
    for seed in range(FILES):
        rng = np.random.default_rng([seed, 3])
        kind = list(Kind)[seed % len(Kind)]
        pace_s = float(rng.choice([1.0, 2.0, 5.0, 10.0, 15.0, 30.0]))
        case = clean_case(kind, seed, interval_s=pace_s)
        file = written(case.truth, case.record, draw_shape(rng), rng)
        outcomes[file.decidable][outcome_of(file, case).word] += 1
    for decidable, counts in outcomes.items():
        what = "decidable files" if decidable else "files that a person could not tell"
        for word, aim in (("right", "98 %"), ("asked", "-"), ("refused", "0"), ("wrong", "0")):
            measured = share(counts[word], max(sum(counts.values()), 1))
            yield row(f"{what}, {word}", measured, aim if decidable else "-")
