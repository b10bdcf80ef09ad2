"""What several papers share: the head, the facts of the job, findings, the cause, their words."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from turnwell.papers.press import day_words
from turnwell.papers.values import CauseNamed, FindingLine, JobFacts, ShopHead
from turnwell.words import Message, text_of

__all__ = ["cause_content", "finding_lines", "head", "job_facts", "words"]


def words(keys: Iterable[str], language: str) -> dict[str, str]:
    """Give the paper's fixed words by key."""
    return {key: text_of(f"papers.{key}", language) for key in keys}


def head(shop: ShopHead, issued_at: datetime, issued_by: str, language: str) -> dict[str, Any]:
    """Give who issues the paper, and when."""
    lines = [*shop.address.splitlines(), shop.phone, shop.email]
    issued = {"day": day_words(issued_at), "by": issued_by}
    return {
        "shop": shop.name,
        "lines": [line.strip() for line in lines if line.strip()],
        "issued": text_of(Message("papers.issued", issued), language),
    }


def job_facts(job: JobFacts, more: Mapping[str, str], language: str) -> dict[str, Any]:
    """Give the facts of the job as pairs of name and value; empty values are left out."""
    pairs = {
        "office": job.office,
        "chair": job.chair,
        "serial": job.serial,
        "taken_in": day_words(job.taken_in),
        **more,
    }
    return {
        "code": job.code,
        "handpiece": job.handpiece,
        "kind": job.kind,
        "complaint": job.complaint,
        "facts": [
            [text_of(f"papers.fact.{key}", language), value]
            for key, value in pairs.items()
            if value
        ],
    }


def finding_lines(findings: Iterable[FindingLine]) -> dict[str, list[dict[str, str]]]:
    """Give what was seen, and what was looked for and not seen."""
    lines: dict[str, list[dict[str, str]]] = {"seen": [], "not_seen": []}
    for finding in findings:
        line = {"name": finding.name, "note": finding.note}
        lines["seen" if finding.is_seen else "not_seen"].append(line)
    return lines


def cause_content(cause: CauseNamed | None, language: str) -> dict[str, str] | None:
    """Give the cause that was named; None where none was."""
    if cause is None:
        return None
    also = ""
    if cause.contributing:
        names = {"names": ", ".join(cause.contributing)}
        also = text_of(Message("papers.contributing", names), language)
    return {
        "name": cause.name,
        "explanation": cause.explanation,
        "words": cause.words,
        "contributing": also,
    }
