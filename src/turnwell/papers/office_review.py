"""The office review: do handpieces come back, why, did the training work, what to change.

The technician takes it along to a visit. The answer stands first; every figure has its interval,
and how it was counted stands at the end.
"""

from collections.abc import Iterable
from typing import Any

from turnwell.fonts import FAMILY
from turnwell.measure import Verdict
from turnwell.papers.estimate import money
from turnwell.papers.office_values import (
    HandpieceBack,
    MoneyShown,
    OfficeReviewPaper,
    TrainingChecked,
)
from turnwell.papers.parts import figure_content, head, reading_row, words
from turnwell.papers.press import day_words, printed, qr_code
from turnwell.papers.values import PageSize
from turnwell.pictures import (
    ActionShown,
    IncidenceShown,
    ReturnCurve,
    ShareWords,
    effect_bar,
    effect_words,
    effects_top,
    incidence_bar,
    incidence_caption,
    incidence_in_words,
    paper,
    return_curve,
    return_curve_caption,
    return_curve_in_words,
    row_name,
    share_words,
)
from turnwell.words import Message, text_of

__all__ = ["office_review"]

CURVE_PT = 516.0
SHARE_PT = 150.0
EFFECT_PT = 130.0
# As many are worth taking along to a visit.
MOST_ACTIONS = 3
MOST_HANDPIECES = 8
MOST_TRAININGS = 2
MOST_CAUSES = 7
WORDS = (
    "sheet_of",
    "section.in_short",
    "section.worked",
    "section.change",
    "column.reading",
    "column.value",
    "column.limit",
    "column.verdict",
    "office.foot",
    "office.readings_note",
    "office.no_training",
    "office.no_handpiece",
    "office.expects",
    "office.section.curve",
    "office.section.expected",
    "office.section.causes",
    "office.section.handpieces",
    "office.section.money",
    "office.section.untold",
    "office.section.counted",
    "office.column.handpiece",
    "office.column.watched",
    "office.column.returns",
    "office.column.causes",
    "office.column.spent",
)


def office_review(
    values: OfficeReviewPaper, *, page_size: PageSize = PageSize.A4, language: str = "en"
) -> bytes:
    """Print an office review as PDF.

    Parameters
    ----------
    values : OfficeReviewPaper
        What goes onto it.
    page_size : PageSize
        Size of the sheet.
    language : str
        Of its fixed words.
    """
    drawn = {"qr.svg": qr_code(values.link)}
    period = {"first": day_words(values.first), "last": day_words(values.last)}
    content: dict[str, Any] = {
        "w": words(WORDS, language) | {"qr_alt": text_of("papers.office.qr_alt", language)},
        "page": str(page_size),
        "title": values.office,
        "over": text_of(Message("papers.office.over", dict(period)), language),
        "head": head(values.shop, values.issued_at, values.issued_by, language),
        "job": {"kind": values.holds, "facts": []},
        "caution": text_of("papers.office.caution", language),
        "says": [values.in_short, *(one for one in values.says if one)],
        "curve": _curve(values.curve, drawn, language),
        "expected": [
            reading_row(one, f"expected-{number}.svg", drawn, language)
            for number, one in enumerate(values.expected)
        ],
        "trainings": [
            _training(training, f"training-{number}", drawn, language)
            for number, training in enumerate(values.trainings[:MOST_TRAININGS])
        ],
        "earlier": _earlier(len(values.trainings) - MOST_TRAININGS, language),
        "causes": _causes(values.causes, drawn, language),
        "handpieces": _handpieces(values, language),
        "money": _money(values.money, language),
        "actions": _actions(values.actions[:MOST_ACTIONS], drawn, language),
        "untold": [[one.what, one.would_tell] for one in values.untold],
        "counted": [list(pair) for pair in values.counted],
    }
    return printed("office_review", content, drawn, issued_at=values.issued_at, language=language)


def _curve(curve: ReturnCurve | None, drawn: dict[str, str], language: str) -> dict[str, str]:
    """Draw the return curve; say when it begins where there is none."""
    if curve is None:
        return {"says": "", "note": text_of("pictures.returncurve.nothing", language)}
    drawn["curve.svg"] = return_curve(curve, ground=paper(CURVE_PT, FAMILY), language=language)
    return {
        "says": return_curve_in_words(curve, language=language),
        "note": return_curve_caption(curve, language=language),
    }


def _training(
    training: TrainingChecked, name: str, drawn: dict[str, str], language: str
) -> dict[str, Any]:
    """Give a training's readings, and why the plain change does not stand alone."""
    rows = []
    # The plain change comes last: at the end of a page it must not stand without the other.
    for key in ("before", "after", "shrunken", "plain"):
        reading = getattr(training, key)
        named = text_of(f"papers.office.row.{key}", language)
        if reading is None:
            rows.append(_untold_row(named, training.why_not_shrunken, language))
        else:
            row = reading_row(reading, f"{name}-{key}.svg", drawn, language)
            # As counted, the change answers nothing by itself: a verdict would claim it does.
            unjudged = _unjudged(language) if key == "plain" else {}
            rows.append(row | {"name": named} | unjudged)
    day = {"day": day_words(training.on)}
    kind = "training" if training.was_training else "visit"
    warning = "after_a_bad_spell" if training.after_a_bad_spell else "planned"
    has_shrunken = training.shrunken is not None
    return {
        "name": text_of(Message(f"papers.office.{kind}", dict(day)), language),
        "says": training.says,
        "warning": text_of(f"papers.office.{warning}", language) if has_shrunken else "",
        "rows": rows,
    }


def _earlier(count: int, language: str) -> str:
    """Say how many trainings are left out; empty for none."""
    if count <= 0:
        return ""
    return text_of(Message("papers.office.earlier", {"count": count}), language)


def _unjudged(language: str) -> dict[str, Any]:
    word = text_of("papers.office.not_judged", language)
    key = Verdict.NO_LIMIT.key
    return {"bar": None, "limit": "", "why": "", "verdict": {"key": key, "word": word}}


def _untold_row(name: str, why: str, language: str) -> dict[str, Any]:
    key = Verdict.CANNOT_TELL.key
    return {
        "name": name,
        "unit": "",
        "figure": {"value": None},
        "bar": None,
        "says": "",
        "verdict": {"key": key, "word": text_of(f"verdict.{key}", language)},
        "limit": "",
        "why": why,
    }


def _causes(shown: IncidenceShown | None, drawn: dict[str, str], language: str) -> dict[str, Any]:
    if shown is None:
        return {"rows": [], "more": "", "note": text_of("pictures.incidence.nothing", language)}
    ground = paper(SHARE_PT, FAMILY)
    rows = []
    for number, row in enumerate(shown.first(MOST_CAUSES)):
        file = f"cause-{number}.svg"
        drawn[file] = incidence_bar(row, top=shown.top, ground=ground, language=language)
        share = share_words(row.share, row.returns, kind=row.kind, language=language)
        figures = [_share("after" if row.before is not None else "", share, language)]
        if row.before is not None:
            before = share_words(row.before, row.returns_before, kind=row.kind, language=language)
            figures.insert(0, _share("before", before, language))
        says = incidence_in_words(row, language=language)
        name = row_name(row, language)
        rows.append({"name": name, "bar": file, "says": says, "figures": figures})
    rarer = ", ".join(row_name(row, language) for row in shown.rarer(MOST_CAUSES))
    more = text_of(Message("papers.office.rarer", {"names": rarer}), language) if rarer else ""
    return {"rows": rows, "more": more, "note": incidence_caption(shown, language=language)}


def _share(key: str, share: ShareWords, language: str) -> dict[str, str]:
    when = text_of(f"pictures.incidence.{key}", language) if key else ""
    return {"when": when, "value": share.value, "more": f"{share.between}, {share.counted}"}


def _handpieces(values: OfficeReviewPaper, language: str) -> dict[str, Any]:
    """Give those that come back most, and how many more came back."""
    currency = values.money.currency if values.money is not None else ""
    left = len(values.handpieces) - MOST_HANDPIECES
    more = text_of(Message("papers.office.and_more", {"count": left}), language)
    return {
        "rows": [_handpiece(one, currency) for one in values.handpieces[:MOST_HANDPIECES]],
        "more": more if left > 0 else "",
    }


def _handpiece(one: HandpieceBack, currency: str) -> dict[str, str]:
    return {
        "name": one.name,
        "where": _joined((one.serial, one.chair)),
        "watched": one.watched,
        "returns": str(one.returns),
        "causes": one.causes,
        "spent": "" if one.spent is None else money(one.spent, currency),
    }


def _joined(parts: Iterable[str]) -> str:
    return ", ".join(part for part in parts if part)


def _money(shown: MoneyShown | None, language: str) -> dict[str, Any] | None:
    if shown is None:
        return None
    spent = money(shown.spent, shown.currency)
    key = "one" if shown.jobs == 1 else "some"
    return {
        "spent": text_of(
            Message(f"papers.office.jobs.{key}", {"spent": spent, "jobs": shown.jobs}), language
        ),
        "name": text_of("papers.office.row.avoidable", language),
        "unit": shown.currency,
        "figure": figure_content(shown.avoidable, language),
        "note": shown.note,
    }


def _actions(
    actions: tuple[ActionShown, ...], drawn: dict[str, str], language: str
) -> dict[str, Any]:
    """Give what to change with its expected effect, all bars on one scale."""
    ground, top = paper(EFFECT_PT, FAMILY), effects_top(actions)
    rows = []
    for number, action in enumerate(actions):
        file = f"effect-{number}.svg"
        drawn[file] = effect_bar(action.fewer, top=top, ground=ground, language=language)
        effect = effect_words(action.fewer, language=language)
        rows.append(
            {
                "does": action.does,
                "note": action.note,
                "why": action.why,
                "bar": file,
                "says": _joined((effect.value, effect.between)),
                "value": effect.value if action.fewer is not None else "",
                "between": effect.between,
                "untold": effect.value if action.fewer is None else "",
            }
        )
    return {"rows": rows, "nothing": text_of("pictures.effect.nothing", language)}
