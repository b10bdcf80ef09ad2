"""What was answered: complaints named, findings seen, findings looked for and not seen."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from turnwell.catalogue import FindingReading
from turnwell.cause.table import Array, Table
from turnwell.errors import InputError
from turnwell.measure import Reading, Verdict

__all__ = ["Answers", "findings_from_readings"]


@dataclass(frozen=True, slots=True)
class Answers:
    """Keys of what was answered; what is not here was not looked for and counts as nothing.

    Parameters
    ----------
    complaints, seen, not_seen : tuple of str
        Keys of the catalogue.
    """

    complaints: tuple[str, ...] = ()
    seen: tuple[str, ...] = ()
    not_seen: tuple[str, ...] = ()

    @property
    def findings(self) -> tuple[str, ...]:
        """The findings answered, seen or not."""
        return (*self.seen, *self.not_seen)

    def check(self, table: Table) -> None:
        """Refuse keys that the table's class does not know.

        Raises
        ------
        InputError
            If a key is none of this class's, or a finding is both seen and not seen.
        """
        both = set(self.seen) & set(self.not_seen)
        if both:
            raise InputError(f"{min(both)} is given as seen and as not seen; leave one of them out")
        complaints = [row.key for row in table.complaints]
        findings = [row.key for row in table.findings]
        _refuse_unknown(self.complaints, complaints, "complaint", "")
        _refuse_unknown(self.findings, findings, "finding", f" of {table.class_name}")

    def outranked_by(self, other: "Answers") -> "Answers":
        """Join two sets of answers; where both answer a finding, the other's answer holds."""
        answered = set(other.findings)
        return Answers(
            complaints=_once((*other.complaints, *self.complaints)),
            seen=_once((*other.seen, *(key for key in self.seen if key not in answered))),
            not_seen=_once(
                (*other.not_seen, *(key for key in self.not_seen if key not in answered))
            ),
        )


def findings_from_readings(table: Table, readings: Mapping[str, Reading]) -> Answers:
    """Give the findings that readings answer.

    A reading outside its limit answers the finding of that side as seen; one within answers it as
    looked for and not seen, where the finding says that a reading settles it. A reading that is
    not proven, has no limit or cannot be told answers nothing.

    Parameters
    ----------
    table : Table
        Of the handpiece's class.
    readings : mapping of reading key to Reading
        As received, each with its limit.

    Examples
    --------
    >>> from turnwell import catalogue, measure
    >>> from turnwell.cause import table_for
    >>> cat = catalogue.load()
    >>> pull = measure.reading("chuck_extraction_force", 18.0, 17.0, 19.0, "N",
    ...     limit=cat.limits_for("air_turbine_4_hole")["chuck_extraction_force"])
    >>> table = table_for(cat, "air_turbine_4_hole")
    >>> findings_from_readings(table, {"chuck_extraction_force": pull}).seen
    ('chuck_pull_low',)
    """
    seen, not_seen = [], []
    for finding in table.findings:
        reading = None if finding.reading is None else readings.get(finding.reading.key)
        if reading is None or finding.reading is None:
            continue
        answer = _answer(finding.reading, reading)
        if answer is True:
            seen.append(finding.key)
        elif answer is False:
            not_seen.append(finding.key)
    return Answers(seen=tuple(seen), not_seen=tuple(not_seen))


def _answer(asked: FindingReading, reading: Reading) -> bool | None:
    """Say whether a reading shows the finding, shows its absence, or says nothing."""
    if reading.verdict is Verdict.OUTSIDE and _side(reading) == asked.side:
        return True
    if reading.verdict in {Verdict.WITHIN, Verdict.OUTSIDE} and asked.absence_settled:
        return False
    return None


def _side(reading: Reading) -> str:
    low = None if reading.limit is None else reading.limit.low
    below = low is not None and reading.value is not None and reading.value < low
    return "low" if below else "high"


@dataclass(frozen=True, slots=True, eq=False)
class Placed:
    """Answers placed in a table: indices in the table's order, with their weights.

    Parameters
    ----------
    complaints, findings : array of int
        Indices into the table's rows.
    is_seen : array of bool
        For each of `findings`.
    complaint_weights, finding_weights : array
        What each log-likelihood is multiplied by.
    """

    complaints: np.ndarray[tuple[int], np.dtype[np.intp]]
    findings: np.ndarray[tuple[int], np.dtype[np.intp]]
    is_seen: np.ndarray[tuple[int], np.dtype[np.bool_]]
    complaint_weights: Array
    finding_weights: Array


def place(table: Table, answers: Answers, *, is_tempered: bool = True) -> Placed:
    """Check answers against a table and weigh them.

    A member of a group of which k members are answered weighs 1/√k; in two groups, the larger k
    holds. Each of n complaints weighs 1/√n on top.

    Raises
    ------
    InputError
        If a key is none of this class's, or a finding is both seen and not seen.
    """
    answers.check(table)
    complaint_keys = [row.key for row in table.complaints]
    finding_keys = [row.key for row in table.findings]
    seen = set(answers.seen)
    named = [i for i, key in enumerate(complaint_keys) if key in set(answers.complaints)]
    found = [i for i, key in enumerate(finding_keys) if key in set(answers.findings)]
    weight = _weights(table, answers) if is_tempered else {}
    spread = np.sqrt(max(len(named), 1)) if is_tempered else 1.0
    return Placed(
        complaints=np.array(named, dtype=np.intp),
        findings=np.array(found, dtype=np.intp),
        is_seen=np.array([finding_keys[i] in seen for i in found], dtype=np.bool_),
        complaint_weights=np.array([weight.get(complaint_keys[i], 1.0) for i in named]) / spread,
        finding_weights=np.array([weight.get(finding_keys[i], 1.0) for i in found]),
    )


def _weights(table: Table, answers: Answers) -> dict[str, float]:
    answered = {*answers.complaints, *answers.findings}
    sizes: dict[str, int] = {}
    for group in table.groups:
        members = group & answered
        for key in members:
            sizes[key] = max(sizes.get(key, 1), len(members))
    return {key: 1.0 / float(np.sqrt(size)) for key, size in sizes.items()}


def _refuse_unknown(keys: Iterable[str], known: Sequence[str], what: str, of: str) -> None:
    for key in keys:
        if key not in known:
            raise InputError(f"{key!r} is no {what}{of}; {_near(key, known)}")


def _near(key: str, known: Sequence[str]) -> str:
    from difflib import get_close_matches

    near = get_close_matches(key, known, n=3, cutoff=0.5)
    return f"near it: {', '.join(near)}" if near else f"the first of {len(known)} is {known[0]}"


def _once(keys: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(keys))
