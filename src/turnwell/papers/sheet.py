"""The test sheet: a handpiece as received and as proved, and what the office should change."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from turnwell.fonts import FAMILY
from turnwell.measure import Reading, Verdict
from turnwell.papers.parts import (
    cause_content,
    figure_content,
    finding_lines,
    head,
    job_facts,
    limit_words,
    verdict_content,
    words,
)
from turnwell.papers.press import day_words, printed, qr_code
from turnwell.papers.values import PageSize, Pair, SetUp, TestSheet
from turnwell.pictures import (
    CoastTraceChart,
    OrderPicture,
    coast_trace_in_words,
    limit_bar,
    limit_bar_in_words,
    order_picture_in_words,
    palette,
    paper,
    speed_trace_in_words,
)
from turnwell.pictures.charts import svg_of
from turnwell.words import Message, Param, text_of

__all__ = ["test_sheet"]

BAR_PT = 150.0
TRACE_PX = 900.0
HALF_PX = 440.0
WORDS = (
    "sheet_of",
    "section.trace",
    "section.readings",
    "section.said",
    "section.set_up",
    "section.found",
    "section.done",
    "section.cause",
    "section.advice",
    "section.cautions",
    "column.reading",
    "column.before",
    "column.after",
    "column.limit",
    "column.verdict",
    "no_value",
    "as_received",
    "final",
    "seen",
    "not_seen",
    "no_readings",
    "qr_alt",
    "readings_note",
    "foot",
)


@dataclass(frozen=True, slots=True)
class _Heard:
    """A picture of what was heard, with its words."""

    key: str
    chart: CoastTraceChart | OrderPicture
    words: str
    has_two: bool


def test_sheet(
    values: TestSheet,
    *,
    page_size: PageSize = PageSize.A4,  # noqa: PT028  # a paper, no test
    language: str = "en",  # noqa: PT028
) -> bytes:
    """Print the test sheet as PDF.

    Parameters
    ----------
    values : TestSheet
        What goes onto it.
    page_size : PageSize
        Size of the sheet.
    language : str
        Of its fixed words.
    """
    pictures = {"qr.svg": qr_code(values.job.link)}
    rows = [
        _row(pair, number, values, pictures, language) for number, pair in enumerate(values.pairs)
    ]
    more = {
        "proved": day_words(values.after.on) if values.after else "",
        "tested_by": values.issued_by,
    }
    content: dict[str, Any] = {
        "w": words(WORDS, language),
        "page": str(page_size),
        "title": _headline(values, language),
        "over": text_of(Message("papers.test_sheet_of", {"code": values.job.code}), language),
        "head": head(values.shop, values.issued_at, values.issued_by, language),
        "job": job_facts(values.job, more, language),
        "trace": None,
        "trace_note": "",
        "said": [list(line) for line in values.said],
        "heard": _heard(values, pictures, language),
        "rows": rows,
        "incomparable": _incomparable(values, language),
        "before": _set_up(values.before, language),
        "after": _set_up(values.after, language),
        "found": finding_lines(values.findings),
        "done": list(values.done),
        "cause": cause_content(values.cause, language),
        "advice": list(values.advice),
        "cautions": [
            text_of("papers.caution.sterilize", language),
            text_of("papers.caution.bench", language),
            *values.cautions,
        ],
    }
    if values.trace is not None:
        pictures["trace.svg"] = svg_of(values.trace.specification(TRACE_PX, ground=palette.WHITE))
        content["trace"] = speed_trace_in_words(values.trace, language=language)
        caption = "one" if values.trace.before is None else "two"
        content["trace_note"] = text_of(f"papers.trace_note.{caption}", language)
    return printed("test_sheet", content, pictures, issued_at=values.issued_at, language=language)


def _heard(values: TestSheet, pictures: dict[str, str], language: str) -> list[dict[str, str]]:
    """Draw the coast-downs and the order picture: beside each other where there are both."""
    wanted: list[_Heard] = []
    if values.coast is not None:
        words = coast_trace_in_words(values.coast, language=language)
        wanted.append(_Heard("coast", values.coast, words, values.coast.before is not None))
    if values.orders is not None:
        words = order_picture_in_words(values.orders, language=language)
        wanted.append(_Heard("orders", values.orders, words, values.orders.before is not None))
    width = TRACE_PX if len(wanted) < 2 else HALF_PX
    shown = []
    for one in wanted:
        name = f"{one.key}.svg"
        pictures[name] = svg_of(one.chart.specification(width, ground=palette.WHITE))
        note = text_of(f"papers.{one.key}_note.{'two' if one.has_two else 'one'}", language)
        shown.append({"file": name, "says": one.words, "note": note})
    return shown


def _row(
    pair: Pair, number: int, values: TestSheet, pictures: dict[str, str], language: str
) -> dict[str, Any]:
    """Give one row of the table, and draw its limit bar."""
    if pair.after is None and values.after is not None:
        return _not_repeated(pair, language)
    judged = pair.judged
    # Only readings of the same set-up stand in one picture.
    before = pair.before if pair.after is not None and not values.differences else None
    bar = limit_bar(judged, before, ground=paper(BAR_PT, FAMILY), language=language)
    name = f"bar-{number}.svg"
    if bar:
        pictures[name] = bar
    return {
        "name": text_of(judged.name, language),
        "unit": judged.unit,
        "before": figure_content(pair.before, language),
        "after": figure_content(pair.after, language),
        "bar": name if bar else None,
        "says": limit_bar_in_words(judged, before, language=language),
        "verdict": verdict_content(judged, language),
        "limit": limit_words(judged, language),
        "why": _why(judged, values, language),
    }


def _why(judged: Reading, values: TestSheet, language: str) -> str:
    """Give the reason for a verdict; none where it is plain, or a value's is said further down."""
    why = text_of(judged.why, language)
    is_said = judged.value is not None and any(text == why for _, text in values.said)
    return "" if judged.verdict is Verdict.WITHIN or is_said else why


def _not_repeated(pair: Pair, language: str) -> dict[str, Any]:
    """Give the row of what the final test did not measure again: nothing there is proved by it."""
    judged = pair.judged
    word = {"key": "cannot_tell", "word": text_of("papers.not_repeated", language)}
    return {
        "name": text_of(judged.name, language),
        "unit": judged.unit,
        "before": figure_content(pair.before, language),
        "after": None,
        "bar": None,
        "says": "",
        "verdict": word,
        "limit": limit_words(judged, language),
        "why": text_of("papers.not_repeated_why", language),
    }


def _set_up(set_up: SetUp | None, language: str) -> dict[str, Any] | None:
    if set_up is None:
        return None
    left_out = ""
    if set_up.left_out_because:
        reason = {"reason": set_up.left_out_because}
        left_out = text_of(Message("papers.left_out", reason), language)
    return {
        "day": day_words(set_up.on),
        "lines": [list(line) for line in set_up.lines],
        "left_out": left_out,
    }


def _incomparable(values: TestSheet, language: str) -> str:
    if not values.differences:
        return ""
    what = {"what": "; ".join(values.differences)}
    return text_of(Message("papers.incomparable", what), language)


def _headline(values: TestSheet, language: str) -> str:
    """Say the outcome first: what is outside, what is not proven, or that all is within."""
    handpiece = values.job.handpiece
    finals = [pair.after for pair in values.pairs if pair.after is not None]
    if not finals:
        return text_of(Message("papers.headline.received", {"handpiece": handpiece}), language)
    left_open = [pair.after for pair in values.pairs if pair.after and _is_left_open(pair)]
    for key, verdicts in (
        ("outside", {Verdict.OUTSIDE}),
        ("not_proven", {Verdict.NOT_PROVEN, Verdict.CANNOT_TELL}),
    ):
        named = [one for one in finals if one.verdict in verdicts and one not in left_open]
        if named:
            return _naming(key, handpiece, named, language)
    if any(one.verdict is Verdict.WITHIN for one in finals):
        if held := [one for one in left_open if one.limit is not None]:
            return _naming("within_open", handpiece, held, language)
        key = "within" if len(finals) == len(values.pairs) else "within_in_part"
    else:
        key = "no_limit"
    return text_of(Message(f"papers.headline.{key}", {"handpiece": handpiece}), language)


def _is_left_open(pair: Pair) -> bool:
    """Tell whether a final reading could not be told and did not have to be."""
    return pair.may_stay_open and pair.judged.verdict is Verdict.CANNOT_TELL


def _naming(key: str, handpiece: str, named: Sequence[Reading], language: str) -> str:
    params: dict[str, Param] = {"handpiece": handpiece, "names": _names(named, language)}
    return text_of(Message(f"papers.headline.{key}", params), language)


def _names(readings: Sequence[Reading], language: str) -> str:
    """Name the first few readings; the table has them all."""
    names = [text_of(one.name, language) for one in readings]
    names = [name[:1].lower() + name[1:] for name in names]
    if len(names) <= 3:
        return ", ".join(names)
    params: dict[str, Param] = {"names": ", ".join(names[:2]), "count": len(names) - 2}
    return text_of(Message("papers.and_more", params), language)
