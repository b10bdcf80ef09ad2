"""What several papers share: the head, facts, findings, the cause, figures, their words."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from turnwell.fonts import FAMILY
from turnwell.measure import Reading, Verdict
from turnwell.papers.press import day_words
from turnwell.papers.values import CauseNamed, FindingLine, JobFacts, ShopHead
from turnwell.pictures import figures_of, limit_bar, limit_bar_in_words, paper
from turnwell.words import Message, text_of

__all__ = [
    "cause_content",
    "figure_content",
    "finding_lines",
    "head",
    "job_facts",
    "limit_words",
    "reading_row",
    "verdict_content",
    "words",
]

# Width of a limit bar in a table.
BAR_PT = 150.0


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


def figure_content(reading: Reading | None, language: str) -> dict[str, Any] | None:
    """Give value, interval and verdict of a reading; None where there is none."""
    if reading is None:
        return None
    figures = figures_of(reading, language)
    ends = None
    if figures.value is not None:
        params = {"low": figures.low or "", "high": figures.high or ""}
        ends = text_of(Message("pictures.between", params), language)
    return {
        "value": figures.value,
        "interval": ends,
        "verdict": verdict_content(reading, language),
    }


def verdict_content(reading: Reading, language: str) -> dict[str, str]:
    """Give a verdict's key and word."""
    key = reading.verdict.key
    return {"key": key, "word": text_of(f"verdict.{key}", language)}


def reading_row(
    reading: Reading, name: str, drawn: dict[str, str], language: str
) -> dict[str, Any]:
    """Give one row of a table of readings, and draw its limit bar under a name."""
    bar = limit_bar(reading, ground=paper(BAR_PT, FAMILY), language=language)
    if bar:
        drawn[name] = bar
    return {
        "name": text_of(reading.name, language),
        "unit": reading.unit,
        "figure": figure_content(reading, language),
        "bar": name if bar else None,
        "says": limit_bar_in_words(reading, language=language),
        "verdict": verdict_content(reading, language),
        "limit": limit_words(reading, language),
        # A plain "within" needs no reason; what cannot be told needs it most.
        "why": "" if reading.verdict is Verdict.WITHIN else text_of(reading.why, language),
    }


def limit_words(reading: Reading, language: str) -> str:
    """Give the limit with its source, and how it is known where that is in doubt."""
    limit = reading.limit
    figures = figures_of(reading, language)
    if limit is None or figures.limit is None:
        return ""
    doubt = ""
    if not limit.basis.is_verified:
        basis = text_of(f"pictures.basis.{limit.basis.value.replace(' ', '_')}", language)
        doubt = f" ({basis})"
    params = {"limit": f"{figures.limit} {reading.unit}".strip(), "source": limit.source}
    return text_of(Message("papers.limit", params), language) + doubt
