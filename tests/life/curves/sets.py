"""Published sets of lives and returns, retyped; short enough to be read beside their tables."""

from turnwell.life import Lives

__all__ = ["remission"]


def remission() -> tuple[Lives, Lives]:
    """Give weeks in remission under a drug and under placebo, 21 patients each.

    Freireich et al. 1963 and Gehan 1965, as in [KLEINMOESCHBERGER2003], table 1.1.
    """
    failed = [6, 6, 6, 7, 10, 13, 16, 22, 23]
    running = [6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35]
    drug = Lives.observed(failed + running, [1] * len(failed) + [0] * len(running))
    weeks = [1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23]
    return drug, Lives.observed(weeks, [1] * len(weeks))
