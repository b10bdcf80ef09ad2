"""The falling path is the best one of all that its rules allow."""

from itertools import product

import numpy as np
import pytest

from turnwell.sound.speed import sweep


def best_by_trying_all(scores, steps):
    """Score every path that falls by 0 to `steps` a frame, ending in any frame."""
    frames, size = scores.shape
    best, best_path = -np.inf, ()
    for start in range(size):
        for last in range(frames):
            for falls in product(range(steps + 1), repeat=last):
                path = start + np.concatenate([[0], np.cumsum(falls, dtype=int)])
                if path[-1] >= size:
                    continue
                total = scores[np.arange(last + 1), path].sum() - 0.04 * sum(falls)
                if total > best:
                    best, best_path = total, tuple(path)
    return best_path


@pytest.mark.parametrize("seed", range(8))
def test_no_other_path_scores_more(seed):
    scores = np.random.default_rng(seed).normal(0.4, 1.0, (6, 7)).astype(np.float32)
    found = sweep._falling_path(scores, 2)
    expected = best_by_trying_all(scores, 2)
    assert tuple(found) == (expected if len(expected) > 1 else ())


def test_a_path_far_behind_is_given_up():
    scores = np.full((30, 60), -1.0, np.float32)
    scores[:, 0] = 1.0
    scores[5:, 0] = -1.0
    scores[5:, 10] = 3.0  # reached only by falling two a frame at once
    early = sweep._falling_path(scores, 2)
    assert early[-1] == 10
    scores[:5, 0] = 20.0
    scores[5:, 0] = 2.0
    scores[20:, 50] = 200.0
    # What would have had to fall at once to be there is far behind the one that stayed.
    assert sweep._falling_path(scores, 2)[-1] != 50
