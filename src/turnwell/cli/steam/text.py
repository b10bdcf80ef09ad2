"""What was read in one record, as lines of a terminal: plain sentences first, the drying first."""

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from turnwell.cli.lines import reading_line
from turnwell.measure import Basis, Reading, Verdict, verdict_on
from turnwell.pictures.figures import grams_less
from turnwell.steam import Cycle, Fault, FaultKey, Record, Review, Stage, StageKind
from turnwell.steam.water import STANDARD_ATMOSPHERE_KPA
from turnwell.units import s_to_min
from turnwell.words import text_of

__all__ = ["review_lines"]

_OF_DRYING = (
    FaultKey.DRYING_ABORTED,
    FaultKey.DRYING_SHORTENED,
    FaultKey.VACUUM_NOT_REACHED,
)

_TWICE = ": cannot tell. Cannot tell: "
# From here on times are written as minutes and seconds.
_LONG_S = 60.0


def review_lines(review: Review, name: str) -> Iterator[str]:
    """Write what was found, the stages, the readings, what is to be asked, and the caution.

    Parameters
    ----------
    review : Review
    name : str
        What the file is called.
    """
    yield from _sentences(review)
    yield ""
    yield from _record_lines(review.record, name)
    yield _cycle_line(review.cycle)
    yield from _headed("Stages", _stage_lines(review.course.stages))
    drying, others = _parted(review.readings)
    yield from _headed("Drying, times in minutes:seconds", map(_reading_line, drying))
    yield from _headed("The rest", map(_reading_line, others))
    yield from _headed("Faults, with what they were told by", map(_fault_line, review.faults))
    yield from _headed("What would leave less water", _lever_lines(review))
    questions = (f"- {text_of(question.text)}" for question in review.questions)
    yield from _headed("Ask: the record cannot show it", questions)
    yield ""
    yield text_of("steam.releases_no_load")


def _sentences(review: Review) -> Iterator[str]:
    """Say in a line each how the drying went and what else was found."""
    drying = [fault for fault in review.faults if fault.key in _OF_DRYING]
    others = [fault for fault in review.faults if fault.key not in _OF_DRYING]
    yield _drying_sentence(review, drying)
    if others:
        yield f"Found: {_named(others)}."
    elif review.answered:
        yield "Of the other faults that a record can show none was recognised."
    else:
        yield "No plateau was recognised: what this record says of the sterilizing cannot be told."


def _drying_sentence(review: Review, faults: Sequence[Fault]) -> str:
    if faults:
        return f"Drying did not run as it should: {_named(faults)}."
    ran = review.reading("drying_time_s")
    if ran is None or ran.value is None:
        why = "" if ran is None else text_of(ran.why).removeprefix("Cannot tell: ")
        return f"How the drying went cannot be told from this record: {why or 'no drying in it.'}"
    length = _clock(ran.value)
    if ran.verdict is Verdict.WITHIN:
        return f"Drying ran as planned: {length} (minutes:seconds)."
    if ran.verdict is Verdict.OUTSIDE:
        return f"Drying did not run as planned: {length} (minutes:seconds)."
    if ran.verdict is Verdict.NO_LIMIT:
        return (
            f"Drying ran for {length} (minutes:seconds); what was planned was not said "
            "(--dry-min), so it is held against nothing."
        )
    return f"Drying ran for {length} (minutes:seconds); whether that is as planned is not proven."


def _named(faults: Sequence[Fault]) -> str:
    names = [text_of(fault.name) for fault in faults]
    return ", ".join(name[:1].lower() + name[1:] for name in names)


def _record_lines(record: Record, name: str) -> Iterator[str]:
    begun = "" if record.started_at is None else f", begun {record.started_at:%Y-%m-%d %H:%M:%S}"
    yield (
        f"{name}: {record.time_s.size:,} rows, one every {record.interval_s:g} s, "
        f"{_clock(record.duration_s)}{begun}"
    )
    columns = ", ".join(f"{what} in {at}" for what, at in (record.columns or {}).items())
    if columns:
        units = _units_line(record.units or {})
        yield f"Columns: {columns}. Units: {units}. {_atmosphere(record)}."
    counts = record.counts
    left_out = {
        "broken": counts.broken,
        "repeated": counts.duplicate,
        "running back in time": counts.reversed,
    }
    said = ", ".join(f"{number} {what}" for what, number in left_out.items() if number)
    if said:
        at = f"; first at line {counts.first_broken[0]}" if counts.first_broken else ""
        yield f"Rows left out: {said}{at}."
    yield from _missing_line(record)
    for start_s, stop_s in record.gaps_s:
        yield f"Gap: no rows from {_clock(start_s)} to {_clock(stop_s)}."


def _atmosphere(record: Record) -> str:
    """Say the air of the place; where a gauge was added to that of the sea unasked, say so."""
    said = f"Atmosphere {record.atmosphere_kpa:.1f} kPa"
    is_gauge = (record.units or {}).get("pressure_zero") == "gauge"
    if is_gauge and record.atmosphere_kpa == STANDARD_ATMOSPHERE_KPA:
        return f"{said}, that of the sea: --altitude says another height"
    return said


def _missing_line(record: Record) -> Iterator[str]:
    """Count the rows that are kept without a temperature or a pressure."""
    missing = {
        what: int(np.count_nonzero(np.isnan(values)))
        for what, values in (
            ("temperature", record.temperature_c),
            ("pressure", record.pressure_kpa),
        )
    }
    rows = record.time_s.size  # all of them missing: there is no such column
    said = ", ".join(f"{what} in {n} rows" for what, n in missing.items() if 0 < n < rows)
    if said:
        yield f"Values missing: {said}."


def _units_line(units: Mapping[str, str]) -> str:
    """Name the units, the pressure with what it is counted from."""
    zero = units.get("pressure_zero", "")
    shown = {what: unit for what, unit in units.items() if what != "pressure_zero"}
    if "temperature" in shown:
        shown["temperature"] = f"°{shown['temperature']}"
    if zero and "pressure" in shown:
        shown["pressure"] = f"{shown['pressure']} {zero}"
    return ", ".join(f"{what} {unit}" for what, unit in shown.items())


def _cycle_line(cycle: Cycle) -> str:
    parts = [
        f"{value:g} {unit}"
        for value, unit in (
            (cycle.set_c, "°C"),
            (cycle.band_k, "K band"),
            (None if cycle.hold_s is None else s_to_min(cycle.hold_s), "min holding"),
            (None if cycle.dry_s is None else s_to_min(cycle.dry_s), "min drying"),
        )
        if value is not None
    ]
    if not parts:
        return "Held against no plan: none was said (--cycle, or --set-c and the like)."
    name = f"{cycle.name}: " if cycle.name else ""
    source = cycle.source if cycle.basis is Basis.OWN else f"{cycle.source}, {cycle.basis.value}"
    return f"Held against {name}{', '.join(parts)} ({source})."


def _headed(heading: str, lines: Iterator[str]) -> Iterator[str]:
    """Put a heading over lines, and nothing where there are none."""
    for at, line in enumerate(lines):
        if at == 0:
            yield ""
            yield heading
        yield f"  {line}"


def _stage_lines(stages: Sequence[Stage]) -> Iterator[str]:
    """Write a stage a line; before the first and after the last that ran, it was at rest."""
    ran = [at for at, stage in enumerate(stages) if stage.kind is not StageKind.NOT_RECOGNISED]
    for at, stage in enumerate(stages):
        span = f"{_clock(stage.start_s):>8} to {_clock(stage.stop_s):>7}"
        if ran and not ran[0] <= at <= ran[-1]:
            yield f"{'at rest':<15}{span}"
        else:
            yield f"{stage.kind.value:<15}{span}  {stage.sure.value}"


def _reading_line(reading: Reading) -> str:
    """Write a reading: a long time as minutes and seconds, and "cannot tell" once."""
    if reading.value is None:
        return reading_line(reading).replace(_TWICE, ": cannot tell: ", 1)
    if reading.unit != "s" or max(reading.value, _least(reading)) < _LONG_S:
        return reading_line(reading, with_limit=True)
    return _time_line(reading)


def _least(reading: Reading) -> float:
    return 0.0 if reading.limit is None else reading.limit.low or 0.0


def _time_line(reading: Reading) -> str:
    """Write a time as it is set and read on a sterilizer: minutes and seconds."""
    # A whole second is lost to rounding at most; where that would belie the verdict, tenths stay.
    ends = [round(end) for end in (reading.low, reading.high) if end is not None]
    if verdict_on(ends[0], ends[-1], reading.limit) is not reading.verdict:
        return reading_line(reading, with_limit=True)
    low, high = map(_clock, ends)
    figures = f"{_clock(reading.value or 0.0)} ({low} to {high})"
    line = f"{text_of(reading.name)}: {figures}, {reading.verdict.value}. {text_of(reading.why)}"
    if reading.limit is None:
        return line
    return f"{line} Limit: at least {_clock(_least(reading))}, {reading.limit.source}."


def _parted(readings: Sequence[Reading]) -> tuple[list[Reading], list[Reading]]:
    drying = [reading for reading in readings if reading.key.startswith("drying_")]
    return drying, [reading for reading in readings if reading not in drying]


def _fault_line(fault: Fault) -> str:
    return f"{text_of(fault.name)} ({fault.sure.value}): {text_of(fault.evidence)}"


def _lever_lines(review: Review) -> Iterator[str]:
    if review.water is None:
        return
    for lever in review.water.levers:
        less = grams_less(lever.saved_g, lever.low_g, lever.high_g, left=review.water.left)
        yield f"{text_of(lever.change)} {less[:1].upper()}{less[1:]}."


def _clock(seconds: float) -> str:
    """Write seconds as minutes and seconds."""
    whole = round(seconds)
    return f"{whole // 60}:{whole % 60:02d}"
