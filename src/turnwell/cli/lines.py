"""Readings as lines of a terminal."""

from turnwell.measure import Reading
from turnwell.pictures import figures_of
from turnwell.words import text_of

__all__ = ["reading_line"]


def reading_line(reading: Reading, *, with_limit: bool = False) -> str:
    """Write a reading as one line, with the digits its interval deserves.

    Parameters
    ----------
    reading : Reading
    with_limit : bool
        Say what it is held against, and where that is from.

    Examples
    --------
    >>> from turnwell.measure import reading
    >>> reading_line(reading("run_out", 0.020134, 0.017321, 0.022947, "mm")).partition(". ")[0]
    'Run-out at the test bar: 0.0201 mm (0.0173 to 0.0229), no limit'
    """
    shown = figures_of(reading)
    if shown.value is None or shown.low is None or shown.high is None:
        return str(reading)
    value = f"{shown.value} {shown.unit}".rstrip()
    figures = f"{value} ({shown.low} to {shown.high})"
    line = f"{text_of(reading.name)}: {figures}, {reading.verdict.value}. {text_of(reading.why)}"
    if not with_limit or reading.limit is None or shown.limit is None:
        return line
    limit = f"{shown.limit} {shown.unit}".rstrip()
    return f"{line} Limit: {limit}, {reading.limit.source}."
