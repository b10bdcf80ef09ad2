"""Published sets of lives, retyped; short enough to be read beside their tables."""

from collections.abc import Sequence

from turnwell.life import Lives

__all__ = ["LATE", "TWENTY", "bland", "ovarian", "remission", "stomach", "three_causes"]

# Entries 0 0 2 3 5: at 4 one of four fails, at 6 one of four, at 8 one of two, at 9 the last.
LATE = Lives.observed([4, 6, 7, 8, 9], [1, 1, 0, 1, 1], entry=[0, 0, 2, 3, 5])

# Ten failures and ten units running at 500 hours [NISTHANDBOOK], 8.4.1.3.
TWENTY = Lives.observed(
    [54, 187, 216, 240, 244, 335, 361, 373, 375, 386] + [500] * 10, [1] * 10 + [0] * 10
)


def of(failed: Sequence[float], running: Sequence[float]) -> Lives:
    """Give lives from ages of failure and ages of those still running."""
    return Lives.observed([*failed, *running], [1] * len(failed) + [0] * len(running))


def remission() -> tuple[Lives, Lives]:
    """Give weeks in remission under a drug and under placebo, 21 patients each.

    Freireich et al. 1963 and Gehan 1965, as in [KLEINMOESCHBERGER2003], table 1.1.
    """
    drug = of([6, 6, 6, 7, 10, 13, 16, 22, 23], [6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35])
    placebo = of([1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23], [])
    return drug, placebo


def ovarian() -> tuple[Lives, Lives]:
    """Give two groups of ten of a public course on survival; statistic in the tests of scipy."""
    first = of([8, 12, 26, 14, 21, 27], [8, 32, 20, 40])
    return first, of([33, 28, 41], [48, 48, 25, 37, 48, 25, 43])


def stomach() -> tuple[Lives, Lives]:
    """Give two small groups of the same course; statistic in the tests of scipy."""
    return of([19, 6, 5, 4], [20, 19, 17, 14]), of([16, 21, 7], [21, 15, 18, 18, 5])


def bland() -> tuple[Lives, Lives]:
    """Give weeks of patients with two kinds of tumour [BLAND2004]."""
    first = of([6, 13, 21, 30, 37, 38, 49, 50, 63, 79, 86, 98, 202, 219], [31, 47, 80, 82, 82, 149])
    worse = [10, 10, 12, 13, 14, 15, 16, 17, 18, 20, 24, 24, 25, 28, 30, 33, 35, 37, 40, 40]
    worse += [46, 48, 76, 81, 82, 91, 112, 181]
    return first, of(worse, [34, 40, 70])


def three_causes() -> Lives:
    """Give 18 lives of three causes; shares and errors stand in the tests of statsmodels."""
    ages = [1, 1, 2, 4, 4, 4, 6, 6, 7, 8, 9, 9, 9, 1, 2, 2, 4, 4]
    cause = [0, 0, 0, 1, 1, 1, 2, 2, 2, *[-1] * 9]
    return Lives.observed(
        ages, [code >= 0 for code in cause], cause=cause, cause_names=["first", "second", "third"]
    )
