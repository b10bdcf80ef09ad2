"""Readings of typed-in values: their mean, its budget, and the limit it is held against.

Method: the mean of the repeats, with repeatability (type A), the instrument's smallest step and
its stated error as the parts of the budget; the 95 % interval by the effective degrees of freedom.
One value alone has no spread: its interval holds the instrument's error only, and says so. Where
neither a spread nor an instrument's error is known, no interval can be given, and none is made up.

References
----------
[JCGM100], 4.2, 4.3.7, F.2.2.1 and G.4.1, by `turnwell.measure.Budget`.
"""

from statistics import fmean

from turnwell.measure import (
    Budget,
    Limit,
    Part,
    Reading,
    cannot_tell,
    gauge_error,
    reading,
    repeatability,
    resolution,
)
from turnwell.web.jobs.analysis.label_pressure import pressure_objection
from turnwell.web.jobs.measurands import Measurand, in_own_unit, measurand, step_in_own_unit
from turnwell.web.jobs.models import Measurement, Test
from turnwell.words import Message

__all__ = ["reading_of"]


def reading_of(measurement: Measurement, test: Test, limit: Limit | None) -> Reading:
    """Give the reading of what was typed in.

    Parameters
    ----------
    measurement : Measurement
        With its values in the unit they were typed in.
    test : Test
        The test whose set-up holds for it.
    limit : Limit or None
        In the unit of the measurand.
    """
    row = measurand(measurement.reading_key)
    values = [in_own_unit(row, value, measurement.unit) for value in measurement.values]
    gauge = _gauge_parts(measurement, row)
    spread = [repeatability(values)] if len(values) > 1 else []
    budget = Budget(fmean(values), (*spread, *gauge))
    if budget.standard == 0.0:
        return cannot_tell(row.key, row.unit, _no_interval(budget.value, row), limit=limit)
    low, high = budget.interval()
    objection = pressure_objection(test, row.key) if limit is not None else None
    return reading(
        row.key,
        budget.value,
        low,
        high,
        row.unit,
        limit=limit,
        unproven=objection,
        why=_reason(len(values), has_gauge=bool(gauge)),
    )


def _gauge_parts(measurement: Measurement, row: Measurand) -> list[Part]:
    """Give the instrument's own parts of the budget, in the measurand's unit."""
    instrument = measurement.instrument
    if instrument is None:
        return []
    unit = instrument.unit or measurement.unit
    parts = []
    if instrument.resolution:
        parts.append(resolution(step_in_own_unit(row, instrument.resolution, unit)))
    if instrument.stated_error:
        parts.append(gauge_error(step_in_own_unit(row, instrument.stated_error, unit)))
    return parts


def _no_interval(value: float, row: Measurand) -> Message:
    return Message("jobs.no_interval", {"value": f"{value:,.6g}", "unit": row.unit})


def _reason(repeats: int, *, has_gauge: bool) -> Message | None:
    """Say what the interval leaves out; None where it leaves nothing out."""
    if repeats == 1:
        return Message("measure.one_value")
    return None if has_gauge else Message("jobs.spread_only", {"repeats": repeats})
