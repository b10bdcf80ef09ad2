"""The shared pictures and marks as template tags: ``{% load turnwell %}``.

Every tag is a thin edge: it hands plain values to `turnwell.pictures` and puts the drawing into the
page. Quantities come out in the shop's units, times on the wall clock of a zone.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from typing import Any
from uuid import uuid4

from django import template
from django.template.context import Context
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from turnwell import pictures
from turnwell.cause import Ladder
from turnwell.measure import Limit, Reading, Verdict
from turnwell.pictures import (
    ActionShown,
    FunnelPicture,
    IncidenceRow,
    IncidenceShown,
    LadderShown,
    Life,
    ReturnCurve,
    RowKind,
    RunHistory,
)
from turnwell.steam.months import Cell
from turnwell.web.jobs.models import Job
from turnwell.web.shared.charts import Chart, chart_program, drawn_chart
from turnwell.web.shared.codes import code_shown
from turnwell.web.shared.ladders import shown_ladder
from turnwell.web.shared.quantities import pressure_unit
from turnwell.web.shared.times import day_shown, shown_in_zone
from turnwell.web.shared.trip import small_trip_of, steps_of
from turnwell.web.shared.weeks import week_parts
from turnwell.words import text_of

__all__ = ["register"]

register = template.Library()

RUNGS_SHOWN = 6
CAUSES_SHOWN = 7

# Verdict to the symbol of the page's sprite and the class that colours it.
SHAPES = {
    Verdict.WITHIN: "within",
    Verdict.OUTSIDE: "outside",
    Verdict.NOT_PROVEN: "unproven",
    Verdict.CANNOT_TELL: "untold",
}


@register.inclusion_tag("shared/reading.html", takes_context=True)
def reading(
    context: Context,
    r: Reading,
    before: Reading | None = None,
    *,
    under: bool = False,
    told: bool = False,
) -> dict[str, Any]:
    """``{% reading r before=None %}``: one ``<li>`` for a ``<ul class="readings">``.

    Name, value with interval and unit, verdict, limit bar, why, and the limit with its source;
    ``under=True`` where the list has a heading of its own, ``told=True`` where the reason stands
    elsewhere on the page.
    """
    r = _in_shop_units(context, r)
    before = None if before is None else _in_shop_units(context, before)
    return {
        "name": text_of(r.name),
        "heading": "h4" if under else "h3",
        "figures": pictures.figures_of(r),
        "before": None if before is None else pictures.figures_of(before),
        "level": f"{100 * r.level:.3g}",
        "bar": mark_safe(pictures.limit_bar(r, before, says_itself=False)),  # noqa: S308  # own SVG, text escaped
        "verdict": r.verdict,
        "why": "" if told else text_of(r.why),
        "limit_unit": r.unit,
        "source": None if r.limit is None else r.limit.source,
        "doubt": None if r.limit is None else _doubt(r.limit),
    }


@register.simple_tag(takes_context=True)
def limit_bar(context: Context, r: Reading, before: Reading | None = None) -> SafeString:
    """``{% limit_bar r before=None %}``: the picture alone, with its text equivalent."""
    earlier = None if before is None else _in_shop_units(context, before)
    return mark_safe(pictures.limit_bar(_in_shop_units(context, r), earlier))  # noqa: S308  # own SVG, text escaped


@register.simple_tag
def verdict(verdict: Verdict | str) -> SafeString:
    """``{% verdict r.verdict %}``: the mark and the word; no mark where there is no limit."""
    verdict = Verdict(verdict)
    word = text_of(f"verdict.{verdict.key}")
    shape = SHAPES.get(verdict)
    if shape is None:
        return format_html('<span class="verdict verdict--unjudged">{}</span>', word)
    return format_html(
        '<span class="verdict verdict--{}"><svg aria-hidden="true" focusable="false">'
        '<use href="#shape-{}"/></svg>{}</span>',
        shape,
        shape,
        word,
    )


@register.inclusion_tag("shared/speed_trace.html")
def speed_trace(
    after: Mapping[str, Any] | None = None, before: Mapping[str, Any] | None = None
) -> dict[str, Any]:
    """``{% speed_trace after=recording.listening before=None %}``: one run, or two over each other.

    Both are documents of schema ``turnwell.listen/2`` as stored. The limit band is that of the
    later one's speed.
    """
    chart = pictures.speed_trace(
        pictures.SpeedTrace.from_listening(after), pictures.SpeedTrace.from_listening(before)
    )
    if chart is None:
        return {"chart": None, "nothing": text_of("pictures.speedtrace.nothing")}
    caption = "caption_one" if chart.before is None else "caption_two"
    program = chart_program()
    made = chart.specification(960, interactive=True) if program else None
    return {
        "chart": chart,
        "id": f"chart-{uuid4().hex[:12]}",
        "words": pictures.speed_trace_in_words(chart),
        "caption": text_of(f"pictures.speedtrace.{caption}"),
        "drawn": [(width, mark_safe(drawn)) for width, drawn in drawn_chart(chart)],  # noqa: S308  # of the chart renderer, text escaped
        "program": program,
        "specification": made,
    }


@register.inclusion_tag("shared/drawn_picture.html")
def coast_trace(
    after: Mapping[str, Any] | None = None, before: Mapping[str, Any] | None = None
) -> dict[str, Any]:
    """``{% coast_trace after=recording.listening before=None %}``: coast-downs over each other.

    Both are documents as stored; nothing is shown where neither holds a coast-down.
    """
    chart = pictures.coast_trace(after, before)
    if chart is None:
        return {}
    return _drawn(chart, "coasttrace", pictures.coast_trace_in_words(chart), chart.before)


@register.inclusion_tag("shared/drawn_picture.html")
def order_picture(
    after: Mapping[str, Any] | None = None, before: Mapping[str, Any] | None = None
) -> dict[str, Any]:
    """``{% order_picture after=recording.listening before=None %}``: lines over the noise.

    Both are documents as stored; nothing is shown where neither holds order spectra.
    """
    picture = pictures.order_picture(after, before)
    if picture is None:
        return {}
    return _drawn(picture, "orders", pictures.order_picture_in_words(picture), picture.before)


@register.inclusion_tag("shared/drawn_picture.html")
def cycle_trace(document: Mapping[str, Any] | None) -> dict[str, Any]:
    """``{% cycle_trace record.review %}``: a sterilizer's run, stage by stage.

    A document as stored; nothing is shown where it has no curve.
    """
    chart = pictures.cycle_trace(document)
    if chart is None:
        return {}
    return _drawn(chart, "cycletrace", pictures.cycle_trace_in_words(chart), None)


@register.inclusion_tag("shared/drawn_picture.html")
def run_history(history: RunHistory | None) -> dict[str, Any]:
    """``{% run_history history %}``: a `turnwell.pictures.RunHistory`; nothing for None."""
    if history is None:
        return {}
    return _drawn(history, "runhistory", pictures.run_history_in_words(history), None)


@register.inclusion_tag("shared/plotted_picture.html")
def return_curve(curve: ReturnCurve | None) -> dict[str, Any]:
    """``{% return_curve curve %}``: a `turnwell.pictures.ReturnCurve`; a sentence for None."""
    if curve is None:
        return {"nothing": text_of("pictures.returncurve.nothing")}
    return {
        "svg": mark_safe(pictures.return_curve(curve)),  # noqa: S308  # own SVG, text escaped
        "words": pictures.return_curve_in_words(curve),
        "caption": pictures.return_curve_caption(curve),
    }


@register.inclusion_tag("shared/plotted_picture.html")
def funnel_picture(picture: FunnelPicture | None) -> dict[str, Any]:
    """``{% funnel_picture picture %}``: a `pictures.FunnelPicture`; a sentence for None."""
    if picture is None:
        return {"nothing": text_of("pictures.funnel.nothing")}
    return {
        "svg": mark_safe(pictures.funnel_picture(picture)),  # noqa: S308  # own SVG, text escaped
        "words": pictures.funnel_picture_in_words(picture),
        "caption": pictures.funnel_picture_caption(picture),
    }


@register.inclusion_tag("shared/incidence.html")
def incidence(shown: IncidenceShown | None) -> dict[str, Any]:
    """``{% incidence shown %}``: causes as cumulative incidence; a sentence for None."""
    if shown is None:
        return {"nothing": text_of("pictures.incidence.nothing")}
    return {
        "rows": [_cause_row(row, shown.top) for row in shown.first(CAUSES_SHOWN)],
        "rarer": [_cause_row(row, shown.top) for row in shown.rarer(CAUSES_SHOWN)],
        "two": shown.has_before,
        "caption": pictures.incidence_caption(shown),
    }


def _cause_row(row: IncidenceRow, top: float) -> dict[str, Any]:
    """Give a row of causes with its bar and its figures."""
    before = None
    if row.before is not None:
        before = pictures.share_words(row.before, row.returns_before, kind=row.kind)
    return {
        "name": pictures.row_name(row),
        "is_cause": row.kind is RowKind.CAUSE,
        "bar": mark_safe(pictures.incidence_bar(row, top=top)),  # noqa: S308  # own SVG, text escaped
        "share": pictures.share_words(row.share, row.returns, kind=row.kind),
        "before": before,
    }


@register.inclusion_tag("shared/effects.html")
def effects(actions: Sequence[ActionShown]) -> dict[str, Any]:
    """``{% effects actions %}``: what to change, in the order given; a sentence for none."""
    if not actions:
        return {"nothing": text_of("pictures.effect.nothing")}
    top = pictures.effects_top(actions)
    rows = [
        {
            "action": action,
            "bar": mark_safe(pictures.effect_bar(action.fewer, top=top)),  # noqa: S308  # own SVG, text escaped
            "words": pictures.effect_words(action.fewer),
        }
        for action in actions
    ]
    return {"rows": rows, "note": text_of("pictures.effect.note")}


@register.inclusion_tag("shared/week_table.html")
def week_table(cells: Iterable[Cell]) -> dict[str, Any]:
    """``{% week_table habits.half_days %}``: counts by day and part of the day, shaded by share.

    `turnwell.steam.months.Cell` of half-days or of hours; nothing is shown for none.
    """
    table = pictures.week_table(week_parts(cells))
    if table is None:
        return {}
    words = ("caption", "corner", "no_run", "few", "note")
    return {
        "table": table,
        "days": list(zip(table.days(), table.short_days(), strict=True)),
        "w": {key: text_of(f"pictures.weektable.{key}") for key in words},
    }


@register.inclusion_tag("shared/life_strip.html")
def life_strip(life: Life) -> dict[str, Any]:
    """``{% life_strip life %}``: a `turnwell.pictures.Life` on one line, and its list."""
    return {"svg": mark_safe(pictures.life_strip(life)), "rows": life.numbered}  # noqa: S308  # own SVG, text escaped


@register.inclusion_tag("shared/cause_ladder.html")
def cause_ladder(ladder: LadderShown | Ladder | Mapping[str, Any]) -> dict[str, Any]:
    """``{% cause_ladder ladder %}``: a `turnwell.cause.Ladder`, or the record of one, in full."""
    shown = shown_ladder(ladder)
    first = shown.first(RUNGS_SHOWN)
    rungs = [
        {
            "rung": rung,
            "leads": number < shown.leading,
            "bar": mark_safe(pictures.rung_bar(rung, leads=number < shown.leading)),  # noqa: S308  # own SVG, text escaped
            "probability": pictures.written(rung.probability, 2),
            "low": pictures.written(rung.low, 2),
            "high": pictures.written(rung.high, 2),
        }
        for number, rung in enumerate(first)
    ]
    others = [(rung, pictures.written(rung.probability, 2)) for rung in shown.rungs[len(first) :]]
    return {"ladder": shown, "rungs": rungs, "others": others}


@register.inclusion_tag("shared/trip.html", takes_context=True)
def trip(context: Context, job: Job, *, small: bool = False) -> dict[str, Any]:
    """``{% trip job small=False %}``: the steps of a job; small, one line that reads no rows."""
    if small:
        step, steps, says, is_over = small_trip_of(job)
        return {"small": mark_safe(pictures.small_trip(step, steps, says, is_over=is_over))}  # noqa: S308  # own SVG, text escaped
    made = steps_of(job)
    here = next((number for number, step in enumerate(made) if step.is_here), len(made) - 1)
    return {
        "steps": made,
        "count": len(made),
        "now": made[here],
        "number": here + 1,
        "next": made[here + 1] if here + 1 < len(made) else None,
        "zone": job.office.time_zone,
        "shop": context.get("shop"),
    }


@register.simple_tag(takes_context=True)
def when(
    context: Context, dt: datetime | date | None, zone: str | None = None, *, days: bool = False
) -> SafeString:
    """``{% when dt zone=None %}``: a stored time on the wall clock of a zone, mostly the office's.

    Without a zone the shop's; with ``days=True`` the date alone; empty for None.
    """
    if dt is None:
        return mark_safe("")
    if not isinstance(dt, datetime):
        return format_html('<time datetime="{}">{}</time>', dt.isoformat(), day_shown(dt))
    shop = context.get("shop")
    local = shown_in_zone(dt, zone or (shop.time_zone if shop else "UTC"))
    words = day_shown(local) if days else f"{day_shown(local)}, {local:%H:%M}"
    return format_html('<time datetime="{}">{}</time>', local.isoformat("T", "minutes"), words)


@register.simple_tag
def code(typed: str) -> SafeString:
    """``{% code job.code %}``: a short code as people read it."""
    return format_html('<span class="code">{}</span>', code_shown(typed))


@register.filter
def code_in_words(typed: str) -> str:
    """``{{ job.code|code_in_words }}``: the same where no mark-up may stand, as in a title."""
    return code_shown(typed)


@register.simple_tag(takes_context=True)
def pressure(context: Context, pressure_kpa: float) -> SafeString:
    """``{% pressure test.drive_pressure_kpa %}``: a pressure in the shop's unit."""
    shop = context.get("shop")
    unit = pressure_unit(shop.pressure_unit if shop else "kPa")
    return format_html('<span class="nobreak">{}</span>', unit.says(pressure_kpa))


def _drawn(chart: Chart, key: str, words: str, before: object) -> dict[str, Any]:
    """Give what a picture drawn by the server alone shows on a page."""
    caption = "caption_one" if before is None else "caption_two"
    return {
        "words": words,
        "caption": text_of(f"pictures.{key}.{caption}"),
        "drawn": [(width, mark_safe(drawn)) for width, drawn in drawn_chart(chart)],  # noqa: S308  # of the chart renderer, text escaped
    }


def _in_shop_units(context: Context, r: Reading) -> Reading:
    shop = context.get("shop")
    if not shop:
        return r
    return pictures.in_units(r, shop.units)


def _doubt(limit: Limit) -> str | None:
    """Say how a limit is known, where it was neither read in its source nor set by the shop."""
    if limit.basis.is_verified:
        return None
    return text_of(f"pictures.basis.{limit.basis.value.replace(' ', '_')}")
