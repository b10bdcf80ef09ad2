"""What stands under the readings of a recording: coast-down, lines, condition, level, as lines.

Written from the document of `Listening.as_dict`, so that the terminal says what JSON says.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from turnwell.pictures.figures import decimals_for, written
from turnwell.words import text_of

__all__ = ["section_lines"]

_TERMS = (
    ("constant", "constant_rad_s2", "rad/s²"),
    ("with the speed", "linear_per_s", "1/s"),
    ("with its square", "quadratic_per_rad", "1/rad"),
)
_CONDITIONS = ("bearing", "growth", "roughness")
_MOST_RUNS = 4
_HIGHEST_HARMONIC = 2
_BANDS_A_LINE = 5


def section_lines(document: Mapping[str, Any]) -> Iterator[str]:
    """Give the sections of what was heard, each after an empty line.

    Parameters
    ----------
    document : mapping
        Of schema ``turnwell.listen/…``; what a recording does not tell has no section.
    """
    for section in (_coast_down, _lines, _condition, _level):
        lines = list(section(document))
        if lines:
            yield ""
            yield from lines


def _coast_down(document: Mapping[str, Any]) -> Iterator[str]:
    """Say by what drag each run slowed down."""
    runs = document.get("coast_down") or ()
    for run in runs[:_MOST_RUNS]:
        free = written(run["free_speed_rpm"], -2)
        yield f"Coast-down from {run['release_s']:.2f} s, from {free} rpm"
        law = run["law"]
        if law is None:
            yield f"  {run['why_no_law']}"
            continue
        for name, key, unit in _TERMS:
            if law[key] is not None:
                yield f"  drag {name:<16}{_quantity(law[key], unit)}"
        reached = written(100.0 * law["reached_share"], 0)
        misfit = written(law["misfit_rpm"], decimals_for(law["misfit_rpm"]))
        yield f"  heard down to {reached} % of it; the drag fits to {misfit} rpm"
    if len(runs) > _MOST_RUNS:
        yield f"and {len(runs) - _MOST_RUNS} more; --json tells them all"


def _lines(document: Mapping[str, Any]) -> Iterator[str]:
    """Write the table of the bearing's lines, and what the lines say of a bearing not known."""
    orders = document.get("orders")
    if orders is None:
        return
    lines = [line for line in orders["lines"] if line["harmonic"] <= _HIGHEST_HARMONIC]
    heard = [line for line in lines if line["can_be_seen"]]
    if orders["bearing"] is not None and heard:
        yield f"{'Line':<18}{'expected':>10}{'heard at':>10}{'level':>9}{'by chance':>11}"
        yield from (_line_row(line) for line in heard)
    for why, names in _unseen(lines).items():
        yield f"Out of reach: {', '.join(names)}. {why}".rstrip()
    inferred = orders["inferred_bearing"]
    if inferred is not None:
        chance = written(inferred["balls_chance"], 2)
        yield (
            f"The lines are those of a bearing of {inferred['balls']} balls (probability {chance}),"
            f" ball over pitch diameter {_quantity(inferred['ratio'], '')}".rstrip()
        )


def _line_row(line: Mapping[str, Any]) -> str:
    """Write one line of a bearing: where it is expected, where and how loud it is."""
    found, level, chance = line["found_order"], line["level_db"], line["false_alarm"]
    cells = (
        f"{line['order']:>10.3f}",
        f"{found:>10.3f}" if found is not None else f"{'-':>10}",
        f"{written(level, 0):>6} dB" if level is not None else f"{'-':>9}",
        f"{_chance(chance):>11}" if chance is not None else f"{'-':>11}",
    )
    state = "stands out" if line["stands_out"] else "does not stand out"
    return f"  {_line_name(line):<16}{''.join(cells)}  {state}"


def _unseen(lines: Sequence[Mapping[str, Any]]) -> dict[str, list[str]]:
    """Put the lines that this recording cannot show under the reason."""
    reasons: dict[str, list[str]] = {}
    for line in lines:
        if not line["can_be_seen"]:
            reasons.setdefault(line["why_not"] or "", []).append(_line_name(line))
    return reasons


def _line_name(line: Mapping[str, Any]) -> str:
    name = str(line["part"]).replace("_", " ")
    return name if line["harmonic"] == 1 else f"{name} x {line['harmonic']}"


def _chance(chance: float) -> str:
    return "< 0.001" if chance < 0.001 else f"{chance:.3f}"


def _condition(document: Mapping[str, Any]) -> Iterator[str]:
    """Say what the sound tells of bearing, balance and roughness, but no reason a second time."""
    condition = document.get("condition") or {}
    reasons = [condition[key]["why"] for key in _CONDITIONS if condition.get(key)]
    said = {reading.get("why") for reading in document["readings"]}
    new = [reason for reason in reasons if reason not in said]
    if new:
        yield "Condition"
        yield from (f"  {reason}" for reason in new)
    resonance = (condition.get("growth") or {}).get("resonance_hz")
    if resonance is not None:
        yield f"Resonance at {_quantity(resonance, 'Hz')}"


def _level(document: Mapping[str, Any]) -> Iterator[str]:
    """Write the third-octave bands and the dose by each rule."""
    level = document.get("level")
    if level is None:
        return
    yield "Level in third octaves, dB"
    cells = [f"{_frequency(band['mid_hz']):>7}{band['level_db']:>6.1f}" for band in level["bands"]]
    for start in range(0, len(cells), _BANDS_A_LINE):
        yield "  " + "  ".join(cells[start : start + _BANDS_A_LINE])
    for dose in level["dose"]:
        rule = text_of(f"level.rule.{dose['rule']}")
        yield f"Dose of {dose['hours']:g} h a day: {_quantity(dose['percent'], '%')}. {rule}."


def _frequency(frequency_hz: float) -> str:
    return f"{frequency_hz / 1e3:g}k" if frequency_hz >= 1e3 else f"{frequency_hz:g}"


def _quantity(quantity: Mapping[str, float], unit: str) -> str:
    """Write a value with its interval, with the digits it deserves."""
    value, low, high = (quantity[part] for part in ("value", "low", "high"))
    half = (high - low) / 2.0
    if 0.0 < max(abs(low), abs(high)) < 1e-3:
        return f"{value:.2e} {unit} ({low:.2e} to {high:.2e})"
    decimals = decimals_for(half)
    shown = [written(number, decimals) for number in (value, low, high)]
    return f"{shown[0]} {unit}".rstrip() + f" ({shown[1]} to {shown[2]})"
