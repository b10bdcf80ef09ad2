"""The estimate: what could be done with a handpiece, and what each would cost."""

from decimal import Decimal
from typing import Any

from turnwell.papers.parts import cause_content, finding_lines, head, job_facts, words
from turnwell.papers.press import day_words, printed, qr_code
from turnwell.papers.values import Answered, EstimateSheet, Option, PageSize
from turnwell.words import Message, text_of

__all__ = ["estimate", "money"]

WORDS = (
    "sheet_of",
    "section.options",
    "section.found",
    "section.cause",
    "section.answer",
    "column.option",
    "column.parts",
    "column.labour",
    "column.total",
    "seen",
    "not_seen",
    "qr_alt",
    "answer_choose",
    "answer_decline",
    "answer_name",
    "answer_date",
    "estimate_note",
    "estimate_foot",
)


def estimate(
    values: EstimateSheet, *, page_size: PageSize = PageSize.A4, language: str = "en"
) -> bytes:
    """Print the estimate as PDF.

    Parameters
    ----------
    values : EstimateSheet
        What goes onto it.
    page_size : PageSize
        Size of the sheet.
    language : str
        Of its fixed words.
    """
    title = {"handpiece": values.job.handpiece}
    content: dict[str, Any] = {
        "w": words(WORDS, language),
        "page": str(page_size),
        "title": text_of(Message("papers.estimate_title", title), language),
        "over": text_of(Message("papers.estimate_of", {"code": values.job.code}), language),
        "head": head(values.shop, values.issued_at, values.issued_by, language),
        "job": job_facts(values.job, {}, language),
        "found": finding_lines(values.findings),
        "cause": cause_content(values.cause, language),
        "tax_name": values.tax_name,
        "compared": values.compared,
        "options": [_option(option, values, language) for option in values.options],
        "answered": _answered(values.answer, language),
    }
    pictures = {"qr.svg": qr_code(values.job.link)}
    return printed("estimate", content, pictures, issued_at=values.issued_at, language=language)


def money(amount: Decimal, currency: str = "") -> str:
    """Write an amount with thousands set off and the decimals it has.

    >>> money(Decimal("1234.50"), "USD"), money(Decimal("980"))
    ('1,234.50 USD', '980')
    """
    return f"{amount:,} {currency}".strip()


def _option(option: Option, values: EstimateSheet, language: str) -> dict[str, Any]:
    tax = {"percent": f"{option.tax_percent.normalize():f}"}
    warranty = ""
    if option.warranty_months:
        months = {"months": option.warranty_months}
        warranty = text_of(Message("papers.warranty", months), language)
    return {
        "name": option.name,
        "words": option.words,
        "warranty": warranty,
        "worth": list(option.worth),
        "parts": money(option.parts),
        "labour": money(option.labour),
        "tax": money(option.tax),
        "tax_percent": text_of(Message("papers.percent", tax), language),
        "total": money(option.total, values.currency),
    }


def _answered(answer: Answered | None, language: str) -> dict[str, str] | None:
    if answer is None:
        return None
    params = {"option": answer.option, "by": answer.by, "day": day_words(answer.on)}
    key = "agreed" if answer.option else "declined"
    return {"says": text_of(Message(f"papers.{key}", params), language), "note": answer.note}
