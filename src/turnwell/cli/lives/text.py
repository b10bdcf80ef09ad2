"""The answer to a table, as lines of a terminal: readings first, then the curve as a table."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from math import floor, isfinite, log10

from turnwell.cli.lines import reading_line
from turnwell.life.estimate import Estimate
from turnwell.life.summary import AgePoint, GroupSummary, Kind, Summary
from turnwell.measure import Reading
from turnwell.pictures.figures import decimals_for, figures_of, written
from turnwell.words import text_of

__all__ = ["summary_lines"]

_WIDEST_NAME = 20
_GROUP_READINGS = {
    Kind.LIVES: {"weibull_shape": "Weibull shape", "median_life": "median life"},
    Kind.RETURNS: {"mean_cumulative_returns": "mean returns", "power_law_shape": "power-law shape"},
}


def summary_lines(summary: Summary) -> Iterator[str]:
    """Write what the table holds, the readings, groups, causes, the curve, and what was assumed."""
    yield text_of(summary.headline)
    if summary.bound is not None:
        yield f"{text_of(summary.bound.says)}{_shape_option(summary)}"
    yield ""
    yield from map(_reading_line, summary.readings)
    yield from map(str, summary.statistics)
    yield from _headed("Groups", _group_rows(summary))
    yield from _headed("Mean returns of one group less those of another", _difference_rows(summary))
    yield from _headed(
        f"Share failed of each cause by {summary.curve.end:g} {summary.clock}",
        _cause_rows(summary),
    )
    yield from _headed(_curve_heading(summary), _point_rows(summary))
    yield from _headed("Taken for granted", map(text_of, summary.notes))


def _shape_option(summary: Summary) -> str:
    if summary.bound is None or summary.bound.assumed_shape is None:
        return ""
    return " --shape-assumed sets another."


def _reading_line(reading: Reading) -> str:
    """Write a reading; its digits follow the interval, but never so far that the value is lost."""
    return str(reading) if _is_lost(reading) else reading_line(reading)


def _is_lost(reading: Reading) -> bool:
    """Tell whether a wide interval would round a value that is not 0 to 0."""
    shown = figures_of(reading).value
    return bool(reading.value) and shown is not None and not shown.strip("−0.,")


def _headed(heading: str, lines: Iterable[str]) -> Iterator[str]:
    """Put a heading over lines, and nothing where there are none."""
    for at, line in enumerate(lines):
        if at == 0:
            yield ""
            yield heading
        yield f"  {line}"


def _curve_heading(summary: Summary) -> str:
    if summary.kind is Kind.RETURNS:
        return "Mean returns of a unit up to each age"
    return "Share that runs on past each age"


def _group_rows(summary: Summary) -> Iterator[str]:
    """Write a row a group, and under the table the bounds of those in which nothing failed."""
    if summary.groups is None:
        return
    keys = _GROUP_READINGS[summary.kind]
    counted = ("lives", "failed") if summary.kind is Kind.LIVES else ("units", "returns")
    rows = [("group", *counted, *keys.values())]
    for group in summary.groups:
        by_key = {reading.key: reading for reading in group.readings}
        told = [_short(by_key[key]) for key in keys]
        rows.append((_name(group.name), f"{group.n:,}", f"{group.failures:,}", *told))
    yield from _table(rows, left=1)
    yield from _group_bounds(summary.groups)


def _group_bounds(groups: Sequence[GroupSummary]) -> Iterator[str]:
    for group in groups:
        if group.bound is not None:
            yield f"{_name(group.name)}: {text_of(group.bound.says)}"


def _difference_rows(summary: Summary) -> Iterator[str]:
    for found in summary.differences:
        p = f"p {found.p:.3f}" if found.p >= 0.001 else "p below 0.001"
        yield (
            f"{_name(found.first)} less {_name(found.second)}, {found.start:g} to {found.end:g} "
            f"{summary.clock}: {_figures(found.difference)}, {p}"
        )


def _cause_rows(summary: Summary) -> Iterator[str]:
    rows = [
        (_name(cause.cause or "not settled"), f"{cause.failures:,}", _percent(cause.share))
        for cause in summary.causes
    ]
    if rows:
        yield from _table([("cause", "failed", "share (95 % interval)"), *rows], left=1)


def _point_rows(summary: Summary) -> Iterator[str]:
    is_returns = summary.kind is Kind.RETURNS
    show = _figures if is_returns else _percent
    has_law = any(point.fitted is not None for point in summary.points)
    heading = (str(summary.clock), "watched", "seen (95 % interval)")
    rows: list[tuple[str, ...]] = [(*heading, "Weibull (95 % interval)") if has_law else heading]
    rows += [_point_row(point, show, has_law=has_law) for point in summary.points]
    if len(rows) > 1:
        yield from _table(rows, left=0)


def _point_row(
    point: AgePoint, show: Callable[[Estimate], str], *, has_law: bool
) -> tuple[str, ...]:
    seen = "-" if point.observed is None else show(point.observed)
    row = (f"{point.age:,g}", f"{point.at_risk:,}", seen)
    if not has_law:
        return row
    return (*row, "-" if point.fitted is None else show(point.fitted))


def _table(rows: Sequence[tuple[str, ...]], *, left: int) -> Iterator[str]:
    """Write rows under each other; the first `left` columns begin left, the rest end right."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    for row in rows:
        cells = [
            cell.ljust(width) if at < left else cell.rjust(width)
            for at, (cell, width) in enumerate(zip(row, widths, strict=True))
        ]
        yield "  ".join(cells).rstrip()


def _short(reading: Reading) -> str:
    """Write a reading's value and interval without its name."""
    shown = figures_of(reading)
    if shown.value is None:
        return "cannot tell"
    if _is_lost(reading):
        return f"{reading.value:.2g} ({reading.low:.2g} to {reading.high:,.3g})"
    return f"{shown.value} ({shown.low} to {shown.high})"


def _figures(estimate: Estimate) -> str:
    ends = [end for end in (estimate.low, estimate.high) if isfinite(end)]
    half = max((abs(end - estimate.value) for end in ends), default=0.0)
    decimals = decimals_for(half) if half else 2
    if estimate.value:
        # Where the interval is wide the value keeps its first digit all the same.
        decimals = max(decimals, -floor(log10(abs(estimate.value))))
    low, high = (
        written(end, decimals) if isfinite(end) else "open" for end in (estimate.low, estimate.high)
    )
    return f"{written(estimate.value, decimals)} ({low} to {high})"


def _percent(estimate: Estimate) -> str:
    """Write a share in per cent; one decimal where the interval is narrow."""
    decimals = 0 if estimate.high - estimate.low > 0.02 else 1
    value, low, high = (
        written(100.0 * end, decimals) for end in (estimate.value, estimate.low, estimate.high)
    )
    return f"{value} % ({low} to {high})"


def _name(name: str) -> str:
    return name if len(name) <= _WIDEST_NAME else f"{name[: _WIDEST_NAME - 3]}..."
