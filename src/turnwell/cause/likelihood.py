"""From answers to probabilities: tempered naive Bayes, and the range from thin knowledge.

References
----------
[HANDYU2001] and [RISH2001]: naive Bayes ranks well and states too much when signs hang together,
hence the weights. [PRADHAN1996]: the ranking stands up to rough numbers.
"""

import numpy as np

from turnwell.cause.answers import Answers, Placed, place
from turnwell.cause.table import CASES_OF_OFFICE, Array, Table

__all__ = ["entropy_bit", "log_evidence", "probabilities", "range_of_probabilities"]

# An answer once given in person and the office's history are partly the same news.
OFFICE_WEIGHT_BESIDE_FACTS = 0.5
# Keeps a drawn cell from ruling a cause out for good.
LEAST = 1e-9
LOW_QUANTILE, HIGH_QUANTILE = 0.05, 0.95


def probabilities(table: Table, answers: Answers, *, is_tempered: bool = True) -> Array:
    """Give the probability of each cause of the table, summing to 1.

    Parameters
    ----------
    table : Table
        Of the handpiece's class.
    answers : Answers
        What was said and looked for.
    is_tempered : bool
        False counts every answer in full, as plain naive Bayes does.

    Examples
    --------
    >>> from turnwell import catalogue
    >>> from turnwell.cause import table_for
    >>> table = table_for(catalogue.load(), "air_turbine_4_hole")
    >>> chances = probabilities(table, Answers(complaints=("rattles_or_rough",)))
    >>> table.causes[0].key, round(float(chances[0]), 3)
    ('debris_baked_in', 0.194)
    """
    placed = place(table, answers, is_tempered=is_tempered)
    shares = table.shares(office_weight=office_weight(table, placed))
    return _softmax(np.log(shares) + log_evidence(table, placed))


def office_weight(table: Table, placed: Placed) -> float:
    """Give what one earlier case of the office counts: half once office facts are answered."""
    stages = {table.findings[i].stage for i in placed.findings}
    return OFFICE_WEIGHT_BESIDE_FACTS if "office" in stages else 1.0


def log_evidence(table: Table, placed: Placed) -> Array:
    """Give the weighted log-likelihood of the answers under each cause, shares left out."""
    said = complaint_terms(table, placed).sum(axis=0)
    found = finding_terms(table.levels, placed).sum(axis=0)
    return np.asarray(said + found)


def complaint_terms(table: Table, placed: Placed) -> Array:
    """Give w·ln(share of the complaint), shape (complaints named, causes)."""
    shares = table.complaint_shares[placed.complaints]
    return np.asarray(placed.complaint_weights[:, None] * np.log(shares))


def finding_terms(levels: Array, placed: Placed) -> Array:
    """Give w·ln p for what was seen and w·ln(1-p) for what was not, (findings answered, causes)."""
    answered = levels[placed.findings]
    chance = np.where(placed.is_seen[:, None], answered, 1.0 - answered)
    return np.asarray(placed.finding_weights[:, None] * np.log(chance))


def range_of_probabilities(
    table: Table, answers: Answers, *, rng: np.random.Generator, draws: int
) -> tuple[Array, Array]:
    """Give the 5 % and 95 % points of each cause's probability over what the numbers may be.

    Shares are drawn from their Dirichlet, cells from their Beta distribution; complaint shares are
    taken as they stand. It is the range from thin knowledge, not a confidence that the right cause
    is listed.

    Parameters
    ----------
    table, answers
        As for `probabilities`.
    rng : Generator
        Source of the draws.
    draws : int
        Number of them.
    """
    placed = place(table, answers)
    log_odds = np.log(_drawn_shares(table, placed, rng, draws))
    log_odds += complaint_terms(table, placed).sum(axis=0)
    log_odds += _drawn_finding_terms(table, placed, rng, draws)
    low, high = np.quantile(_softmax(log_odds), [LOW_QUANTILE, HIGH_QUANTILE], axis=0)
    return low, high


def _drawn_shares(table: Table, placed: Placed, rng: np.random.Generator, draws: int) -> Array:
    shares = rng.dirichlet(table.share_cases, draws)
    if table.office_cases.any():
        # The office's own cases are known; only what they are mixed with is drawn.
        shares = CASES_OF_OFFICE * shares + office_weight(table, placed) * table.office_cases
        shares /= shares.sum(axis=1, keepdims=True)
    return np.maximum(shares, LEAST)


def _drawn_finding_terms(
    table: Table, placed: Placed, rng: np.random.Generator, draws: int
) -> Array:
    """Draw the sum of the findings' terms, shape (draws, causes).

    Cells share few distinct Beta distributions. Each is drawn `draws` times, and every cell then
    picks from its distribution's draws at random: the same in law up to the pool's own spread, and
    ten times as quick as drawing every cell.
    """
    if not placed.findings.size:
        return np.zeros((draws, len(table.causes)))
    seen = table.seen_cases[placed.findings]
    missed = table.looked_cases[placed.findings] - seen
    first = np.where(placed.is_seen[:, None], seen, missed)
    second = np.where(placed.is_seen[:, None], missed, seen)
    pairs, which = np.unique(
        np.stack([first.ravel(), second.ravel()], axis=1), axis=0, return_inverse=True
    )
    pool = rng.beta(pairs[:, :1], pairs[:, 1:], size=(len(pairs), draws))
    log_pool = np.log(np.maximum(pool, LEAST)).ravel()
    start = draws * which.reshape(first.shape)
    total = np.zeros((draws, len(table.causes)))
    for weight, offset in zip(placed.finding_weights, start, strict=True):
        picked = rng.integers(draws, size=(draws, len(table.causes)))
        total += weight * log_pool[picked + offset]
    return total


def entropy_bit(chances: Array) -> Array:
    """Give the entropy in bits along the last axis."""
    safe = np.where(chances > 0, chances, 1.0)
    return np.asarray(-(chances * np.log2(safe)).sum(axis=-1))


def _softmax(log_odds: Array) -> Array:
    odds = np.exp(log_odds - log_odds.max(axis=-1, keepdims=True))
    return np.asarray(odds / odds.sum(axis=-1, keepdims=True))
