"""The table a ranking is made from: one class's causes, findings, complaints and their numbers.

References
----------
[HANDYU2001] on naive Bayes with dependent signs; [PRADHAN1996] on how little a diagnosis by such a
network hangs on the exact numbers. The numbers themselves are judgement (common practice).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from turnwell.catalogue import Catalogue, Cause, Complaint, Finding
from turnwell.cause.counts import ShopCounts
from turnwell.errors import InputError

__all__ = ["Table", "table_for"]

Array = NDArray[np.float64]

# What the trade's experience weighs against own cases; own choices, common practice.
CASES_OF_SHARES = 40.0
CASES_OF_CELL = 8.0
CASES_OF_OFFICE = 10.0


@dataclass(frozen=True, slots=True, eq=False)
class Table:
    """What is known of one class before anything is seen.

    Made by `table_for`. Arrays have one column a cause, in the order of `causes`.

    Parameters
    ----------
    class_key, class_name, group, lubricated : str
        Of the handpiece.
    causes, findings, complaints : tuple of rows
        Those possible in this class and model, in the catalogue's order.
    share_cases : array, shape (causes,)
        Dirichlet parameters of the shares: 40 cases of the trade's, and own cases.
    office_cases : array, shape (causes,)
        Earlier confirmed causes of this office.
    seen_cases, looked_cases : array, shape (findings, causes)
        Beta parameters of each cell: 8 cases of the trade's, and own cases.
    background : array, shape (findings,)
        How often each finding is seen under a cause that the catalogue does not name.
    complaint_shares : array, shape (complaints, causes)
        How likely each complaint is the one named; each column sums to 1.
    groups : tuple of frozenset of str
        Keys of findings and complaints that hang together.
    own_cases : float
        Weighted number of own cases counted in.
    """

    class_key: str
    class_name: str
    group: str
    lubricated: str
    causes: tuple[Cause, ...]
    findings: tuple[Finding, ...]
    complaints: tuple[Complaint, ...]
    share_cases: Array
    office_cases: Array
    seen_cases: Array
    looked_cases: Array
    background: Array
    complaint_shares: Array
    groups: tuple[frozenset[str], ...]
    own_cases: float

    @property
    def levels(self) -> Array:
        """P(seen | main cause, looked for), shape (findings, causes)."""
        return self.seen_cases / self.looked_cases

    def shares(self, *, office_weight: float = 1.0) -> Array:
        """Give the share of each cause before any evidence.

        Parameters
        ----------
        office_weight : float
            What one earlier case of the same office counts, between 0 and 1.
        """
        shop = self.share_cases / self.share_cases.sum()
        office = CASES_OF_OFFICE * shop + office_weight * self.office_cases
        return np.asarray(office / office.sum())


def table_for(
    facts: Catalogue,
    class_key: str,
    *,
    lubricated: str = "not known",
    has_spray: bool = True,
    has_light: bool = True,
    geared: bool | None = None,
    counts: ShopCounts | None = None,
    office_counts: ShopCounts | None = None,
) -> Table:
    """Give the table of a class, narrowed to what the model has, with own cases counted in.

    Parameters
    ----------
    facts : Catalogue
        As `catalogue.load` gives it.
    class_key : str
        Of the handpiece.
    lubricated : {"yes", "never", "not known"}
        The model's answer.
    has_spray, has_light : bool
        False takes what the model lacks off the ladder, with its findings.
    geared : bool or None
        Whether the model has gears; the class says when None.
    counts : ShopCounts or None
        Own cases of this group of classes.
    office_counts : ShopCounts or None
        Own cases of this office, the last 24 months.

    Raises
    ------
    InputError
        If the class or the answer to `lubricated` is none of those there are.

    Examples
    --------
    >>> from turnwell import catalogue
    >>> table = table_for(catalogue.load(), "air_turbine_4_hole")
    >>> len(table.causes), len(table.findings)
    (19, 55)
    """
    if lubricated not in {"yes", "never", "not known"}:
        raise InputError(f"lubricated is {lubricated!r}; say 'yes', 'never' or 'not known'")
    kind = facts.handpiece_class(class_key)
    has = {
        "spray": has_spray,
        "light": has_light,
        "gears": kind.geared if geared is None else geared,
        "lubrication": lubricated != "never",
    }
    possible = {
        key: share
        for key, share in facts.shares[kind.group].items()
        if key not in kind.leaves_out_causes and has.get(facts.causes[key].needs or "", True)
    }
    causes = tuple(row for key, row in facts.causes.items() if key in possible)
    findings = tuple(row for row in facts.findings_for(class_key) if has.get(row.needs or "", True))
    prior = np.array([possible[row.key] * _life_factor(row, lubricated) for row in causes])
    seen, looked = _cells(facts, causes, findings, counts)
    own = _by_cause(counts, causes)
    return Table(
        class_key=class_key,
        class_name=kind.name,
        group=kind.group,
        lubricated=lubricated,
        causes=causes,
        findings=findings,
        complaints=tuple(facts.complaints.values()),
        share_cases=CASES_OF_SHARES * prior / prior.sum() + own,
        office_cases=_by_cause(office_counts, causes),
        seen_cases=seen,
        looked_cases=looked,
        background=np.array([facts.levels[facts.evidence[row.key].background] for row in findings]),
        complaint_shares=_complaint_shares(facts, causes),
        groups=tuple(frozenset(row.members) for row in facts.groups.values()),
        own_cases=float(own.sum()),
    )


def _life_factor(row: Cause, lubricated: str) -> float:
    return row.lubricated_for_life_factor if lubricated == "never" else 1.0


def _by_cause(counts: ShopCounts | None, causes: Sequence[Cause]) -> Array:
    named: Mapping[str, float] = {} if counts is None else counts.causes
    return np.array([named.get(row.key, 0.0) for row in causes])


def _cells(
    facts: Catalogue,
    causes: Sequence[Cause],
    findings: Sequence[Finding],
    counts: ShopCounts | None,
) -> tuple[Array, Array]:
    """Give the cases in which each finding was seen and looked for, trade's and own."""
    levels = np.array(
        [
            [facts.levels[facts.evidence[finding.key].level(cause.key)] for cause in causes]
            for finding in findings
        ]
    )
    seen, looked = CASES_OF_CELL * levels, np.full_like(levels, CASES_OF_CELL)
    if counts is not None:
        for i, finding in enumerate(findings):
            for j, cause in enumerate(causes):
                seen[i, j] += counts.seen.get((finding.key, cause.key), 0.0)
                looked[i, j] += counts.looked.get((finding.key, cause.key), 0.0)
    return seen, looked


def _complaint_shares(facts: Catalogue, causes: Sequence[Cause]) -> Array:
    levels = np.array(
        [
            [facts.levels[facts.complaint_links[cause.key][key]] for cause in causes]
            for key in facts.complaints
        ]
    )
    return np.asarray(levels / levels.sum(axis=0))
