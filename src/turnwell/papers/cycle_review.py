"""The cycle review: what a sterilizer's run shows, what to do and ask, what the months say.

It reports a record. It releases no load, and says so at the top.
"""

from collections.abc import Iterable, Sequence
from typing import Any

from turnwell.measure import Reading
from turnwell.papers.cycle_values import Advice, CycleReview, FaultFound, Months, ReviewedRun
from turnwell.papers.parts import head, limit_words, reading_row, words
from turnwell.papers.press import day_words, printed, qr_code
from turnwell.papers.values import PageSize
from turnwell.pictures import (
    WeekPart,
    cycle_trace_in_words,
    figures_of,
    palette,
    week_table,
)
from turnwell.pictures.charts import svg_of
from turnwell.words import Message, Param, text_of

__all__ = ["cycle_review"]

TRACE_PX = 900.0
WORDS = (
    "sheet_of",
    "section.in_short",
    "section.cycle_trace",
    "section.readings",
    "section.faults",
    "section.ask",
    "section.water",
    "section.saw",
    "section.change",
    "section.worked",
    "section.months",
    "section.week",
    "column.reading",
    "column.value",
    "column.limit",
    "column.verdict",
    "cycle_trace_note",
    "cycle_readings_note",
    "cycle_foot",
    "levers",
)

WEEK_WORDS = ("note", "no_run", "few", "corner")


def cycle_review(
    values: CycleReview, *, page_size: PageSize = PageSize.A4, language: str = "en"
) -> bytes:
    """Print a cycle review as PDF.

    Parameters
    ----------
    values : CycleReview
        What goes onto it.
    page_size : PageSize
        Size of the sheet.
    language : str
        Of its fixed words.
    """
    more = {key: text_of(f"pictures.weektable.{key}", language) for key in WEEK_WORDS}
    more["qr_alt"] = text_of("papers.cycle_qr_alt", language)
    # One sentence on damp pouches, on every page and paper.
    more["damp_pouch"] = text_of("steam_water.damp_pouch", language)
    drawn = {"qr.svg": qr_code(values.link)}
    content: dict[str, Any] = {
        "w": words(WORDS, language) | more,
        "page": str(page_size),
        "title": _title(values, language),
        "over": text_of(Message("papers.cycle_review_of", {"office": values.office}), language),
        "head": head(values.shop, values.issued_at, values.issued_by, language),
        "job": {"kind": values.kind, "facts": _facts(values, language)},
        "caution": text_of("steam.releases_no_load", language),
        "run": None if values.run is None else _run(values.run, drawn, language),
        "months": None if values.months is None else _months(values.months, drawn, language),
    }
    return printed("cycle_review", content, drawn, issued_at=values.issued_at, language=language)


def _title(values: CycleReview, language: str) -> str:
    """Name the run by its moment, or the sterilizer where only its months are told."""
    params: dict[str, Param] = {"sterilizer": values.sterilizer}
    if values.run is None:
        return text_of(Message("papers.cycle_title.months", params), language)
    if values.run.began is None:
        return text_of(Message("papers.cycle_title.no_clock", params), language)
    params |= {"day": day_words(values.run.began), "time": f"{values.run.began:%H:%M}"}
    return text_of(Message("papers.cycle_title.run", params), language)


def _facts(values: CycleReview, language: str) -> list[list[str]]:
    facts = {"office": values.office, "sterilizer": values.sterilizer}
    if values.run is not None:
        facts["held_against"] = values.run.held_against
    return [
        [text_of(f"papers.fact.{key}", language), value] for key, value in facts.items() if value
    ]


def _run(run: ReviewedRun, drawn: dict[str, str], language: str) -> dict[str, Any]:
    """Give what is printed of a run, and draw its pictures."""
    trace = None
    if run.trace is not None:
        specification = run.trace.specification(TRACE_PX, ground=palette.WHITE, language=language)
        drawn["trace.svg"] = svg_of(specification)
        trace = cycle_trace_in_words(run.trace, language=language)
    record = ""
    if run.sha256:
        kept: dict[str, Param] = {"file": run.file_name, "sha256": run.sha256}
        record = text_of(Message("papers.cycle_record", kept), language)
    return {
        "says": [one for one in run.says if one],
        "trace": trace,
        "rows": _rows(run.readings, drawn, language),
        "faults": [_fault(fault, language) for fault in run.faults],
        "questions": list(run.questions),
        "levers": list(run.levers),
        "record": record,
    }


def _fault(fault: FaultFound, language: str) -> dict[str, str]:
    return {
        "name": fault.name,
        "sure": fault.sure,
        "evidence": fault.evidence,
        "do": text_of(f"papers.cycle_do.{fault.key}", language),
    }


def _rows(
    readings: Iterable[Reading], drawn: dict[str, str], language: str
) -> list[dict[str, Any]]:
    """Give the rows of a table of readings, and draw their limit bars."""
    return [
        reading_row(reading, f"reading-{number}.svg", drawn, language)
        for number, reading in enumerate(readings)
    ]


def _months(months: Months, drawn: dict[str, str], language: str) -> dict[str, Any]:
    """Give what is printed of the months, and draw their pictures."""
    history = None
    if months.history is not None:
        specification = months.history.chart.specification(TRACE_PX, ground=palette.WHITE)
        drawn["history.svg"] = svg_of(specification)
        history = {"says": months.history.words, "note": months.history.note}
    return {
        "says": [one for one in months.says if one],
        "advice": [_advice(one, language) for one in months.advice],
        "changed": list(months.changed),
        "history": history,
        "week": _week(months.week, language),
    }


def _advice(advice: Advice, language: str) -> dict[str, Any]:
    values = [_against_limit(reading, language) for reading in advice.readings]
    return {"do": advice.do, "saw": [*advice.saw, *values]}


def _against_limit(reading: Reading, language: str) -> str:
    """Write a value and its limit, with the limit's source, in one line."""
    figures = figures_of(reading, language)
    value = " ".join(part for part in (figures.value, reading.unit) if part)
    return f"{text_of(reading.name, language)}: {value}. {limit_words(reading, language)}."


def _week(parts: Sequence[WeekPart], language: str) -> dict[str, Any] | None:
    """Give the rows of the week table."""
    table = week_table(parts)
    if table is None:
        return None
    return {
        "days": list(table.days(language)),
        "rows": [
            {"part": row.part, "cells": [_cell(cell, language) for cell in row.cells]}
            for row in table.rows
        ],
    }


def _cell(part: WeekPart | None, language: str) -> dict[str, Any] | None:
    if part is None:
        return None
    return {
        "says": part.says(language),
        "shade": part.shade,
        "few": part.is_few,
        "stands_out": part.stands_out,
    }
