"""Ranks the causes of a failure and words what the ranking says."""

from collections.abc import Iterable, Sequence

import numpy as np

from turnwell.cause.answers import Answers, Placed, place
from turnwell.cause.ladder import Answer, Evidence, Ladder, Rung
from turnwell.cause.likelihood import (
    complaint_terms,
    entropy_bit,
    finding_terms,
    log_evidence,
    office_weight,
    probabilities,
    range_of_probabilities,
)
from turnwell.cause.looknext import looks
from turnwell.cause.table import Array, Table
from turnwell.errors import InputError
from turnwell.words import Message

__all__ = ["rank"]

# Where the words stand; hit rates on cases drawn from the table stand in docs/method-cause.md.
LEADING_FROM = 0.5
LEADING_TIMES_SECOND = 2.0
CANNOT_TELL_BELOW = 0.3
# "Nothing listed fits": the best cause explains the answers less than three times as well as
# "something else" does, with at least six findings answered.
FITS_FROM_TIMES = 3.0
FITS_ASKED_FROM = 6
CATCH_ALL = "something_else"
LUBRICANT_CAUSES = {"too_little_lubricant", "wrong_or_excess_lubricant"}
# An answer that shifts a cause's odds by less than a fifth is not worth a line.
LEAST_WEIGHT = float(np.log(1.2))
EVIDENCE_SHOWN = 3


def rank(
    table: Table,
    *,
    complaints: Sequence[str] = (),
    seen: Sequence[str] = (),
    not_seen: Sequence[str] = (),
    is_open: bool | None = None,
    rng: np.random.Generator | None = None,
    draws: int = 2000,
) -> Ladder:
    """Rank the causes of a failure by what was said and what was looked for.

    Parameters
    ----------
    table : Table
        Of the handpiece's class, by `table_for`.
    complaints, seen, not_seen : sequence of str
        Keys: what the office said; what was looked for and seen; what was looked for and not seen.
        What was not looked for is left out of both and counts as nothing.
    is_open : bool or None
        Whether the handpiece is opened; None takes it from the answers.
    rng : Generator or None
        Source of the draws behind each range; None gives the same range for the same answers.
    draws : int
        Number of draws, >= 100.

    Raises
    ------
    InputError
        If a key is none of this class's, or a finding is given as both seen and not seen.

    Examples
    --------
    >>> from turnwell import catalogue
    >>> from turnwell.cause import table_for
    >>> table = table_for(catalogue.load(), "air_turbine_4_hole")
    >>> ladder = rank(table, complaints=["leaks_water_or_air"], seen=["leak_found", "o_rings_hard"],
    ...               not_seen=["repaired_lately"])
    >>> ladder.first.key, round(ladder.first.probability, 3), ladder.answer.value
    ('seals_hardened', 0.847, 'leading')

    Notes
    -----
    One main cause is assumed; two at once share the ranking. The ranking closes no job: a person
    names the cause.
    """
    if draws < 100:
        raise InputError(f"draws is {draws}, must be at least 100")
    answers = Answers(tuple(complaints), tuple(seen), tuple(not_seen))
    placed = place(table, answers)
    chances = probabilities(table, answers)
    low, high = range_of_probabilities(
        table, answers, rng=np.random.default_rng(0) if rng is None else rng, draws=draws
    )
    order = np.argsort(-chances, kind="stable")
    terms = _EvidenceTerms(table, placed)
    rungs = tuple(
        _rung(table, int(j), chances, (low, high), terms.for_cause(int(j))) for j in order
    )
    answer, wording = _worded(table, placed, rungs)
    look_next, look_at_visit = looks(
        table,
        answers,
        chances,
        is_open=_is_opened(table, placed) if is_open is None else is_open,
        is_leading=answer is Answer.LEADING,
    )
    return Ladder(
        class_key=table.class_key,
        answer=answer,
        wording=wording,
        rungs=rungs,
        says=tuple(_says(table, placed, rungs)),
        look_next=look_next,
        look_at_visit=look_at_visit,
        entropy_bit=float(entropy_bit(chances)),
    )


class _EvidenceTerms:
    """What each answer adds to each cause, against where nothing is known of the cause."""

    def __init__(self, table: Table, placed: Placed) -> None:
        shares = table.shares()
        usual = (table.complaint_shares @ shares)[placed.complaints]
        background = np.repeat(table.background[:, None], len(table.causes), axis=1)
        self.weights = np.concatenate(
            [
                complaint_terms(table, placed)
                - (placed.complaint_weights * np.log(usual))[:, None],
                finding_terms(table.levels, placed) - finding_terms(background, placed),
            ]
        )
        self.words = [
            (row.key, "complaint", Message("cause.evidence.complaint", {"said": row.said}))
            for row in (table.complaints[i] for i in placed.complaints)
        ]
        for i, is_seen in zip(placed.findings, placed.is_seen, strict=True):
            row = table.findings[i]
            answer = "seen" if is_seen else "not seen"
            key = "cause.evidence.seen" if is_seen else "cause.evidence.not_seen"
            self.words.append((row.key, answer, Message(key, {"name": row.name})))

    def for_cause(self, cause: int) -> list[Evidence]:
        """Give the answers worth a line, the strongest first."""
        items = [
            Evidence(key, answer, float(weight), message)
            for (key, answer, message), weight in zip(
                self.words, self.weights[:, cause], strict=True
            )
            if abs(weight) >= LEAST_WEIGHT
        ]
        return sorted(items, key=lambda item: -abs(item.weight))


def _rung(
    table: Table,
    cause: int,
    chances: Array,
    ends: tuple[Array, Array],
    evidence: Sequence[Evidence],
) -> Rung:
    row = table.causes[cause]
    chance = float(chances[cause])
    return Rung(
        key=row.key,
        name=row.name,
        probability=chance,
        low=min(float(ends[0][cause]), chance),
        high=max(float(ends[1][cause]), chance),
        is_office_care=row.office_care,
        caution=row.caution,
        evidence_for=tuple(item for item in evidence if item.weight > 0)[:EVIDENCE_SHOWN],
        evidence_against=tuple(item for item in evidence if item.weight < 0)[:EVIDENCE_SHOWN],
    )


def _worded(table: Table, placed: Placed, rungs: Sequence[Rung]) -> tuple[Answer, Message]:
    first, second = rungs[0], rungs[1]
    if not placed.complaints.size and not placed.findings.size:
        return Answer.CANNOT_TELL, Message("cause.wording.nothing_answered")
    if first.key == CATCH_ALL or _nothing_fits(table, placed):
        return Answer.NOTHING_FITS, Message("cause.wording.nothing_fits")
    if first.probability < CANNOT_TELL_BELOW:
        return Answer.CANNOT_TELL, Message("cause.wording.cannot_tell")
    if (
        first.probability >= LEADING_FROM
        and first.probability >= LEADING_TIMES_SECOND * second.probability
    ):
        return Answer.LEADING, Message("cause.wording.leading", {"first": first.name})
    names = {"first": first.name, "second": second.name}
    return Answer.BETWEEN, Message("cause.wording.between", names)


def _nothing_fits(table: Table, placed: Placed) -> bool:
    keys = [row.key for row in table.causes]
    if placed.findings.size < FITS_ASKED_FROM or CATCH_ALL not in keys:
        return False
    likelihood = log_evidence(table, placed)
    best = likelihood.max() - likelihood[keys.index(CATCH_ALL)]
    return bool(best < np.log(FITS_FROM_TIMES))


def _says(table: Table, placed: Placed, rungs: Sequence[Rung]) -> Iterable[Message]:
    for i in placed.complaints:
        if table.complaints[i].out_of_use:
            yield Message("cause.says.out_of_use", {"what": table.complaints[i].said})
    for i, is_seen in zip(placed.findings, placed.is_seen, strict=True):
        if is_seen and table.findings[i].out_of_use:
            yield Message("cause.says.out_of_use", {"what": table.findings[i].name})
    if table.lubricated == "not known" and {rung.key for rung in rungs[:3]} & LUBRICANT_CAUSES:
        yield Message("cause.says.lubrication_not_known")
    if table.own_cases > 0:
        yield Message("cause.says.own_cases", {"count": table.own_cases})
    if table.office_cases.any():
        counted = office_weight(table, placed) * float(table.office_cases.sum())
        yield Message("cause.says.office_cases", {"count": counted})


def _is_opened(table: Table, placed: Placed) -> bool:
    return any(table.findings[i].stage == "torn down" for i in placed.findings)
