"""Puts the stages of a run in order, each with how sure it is and what it was told by."""

from dataclasses import dataclass

from turnwell.errors import CannotTellError
from turnwell.steam.cycle import Cycle
from turnwell.steam.record import Record
from turnwell.steam.stage import Course, Ending, Stage, StageKind, Sure
from turnwell.steam.stages.after import Descent, descent_of
from turnwell.steam.stages.before import Approach, approach_of
from turnwell.steam.stages.ending import ending_of, ending_without_plateau
from turnwell.steam.stages.plateau import Plateau, plateau_of, runs_in
from turnwell.steam.stages.said import said_share
from turnwell.steam.stages.signals import Signals, signals_of
from turnwell.words import Message

__all__ = ["course_of"]

# A coarser record blurs every boundary by so much that no stage is more than likely.
COARSE_S = 20.0
# Most of a stage's rows call it something else: the signal still decides, less surely.
CONTRADICTED = 0.5
# So far under the atmosphere only a pump draws a chamber before the steam comes.
PUMPED_KPA = 20.0


def course_of(record: Record, cycle: Cycle) -> Course:
    """Find the stages of a run.

    Parameters
    ----------
    record : Record
    cycle : Cycle
        Its set temperature, where it is known and reached, says where the plateau begins.

    Returns
    -------
    Course
        Stages that cover the record; all of it "not recognised" where nothing was held hot.

    Raises
    ------
    CannotTellError
        If the record holds more than one run.
    """
    signals = signals_of(record)
    plateau = None if signals is None else plateau_of(signals, cycle)
    if signals is None or plateau is None:
        return _unrecognised(record, signals)
    if (runs := runs_in(signals)) > 1:
        raise CannotTellError(
            f"the record holds {runs} runs one after the other; cut it into one file a run"
        )
    approach = approach_of(signals, plateau.start)
    descent = descent_of(signals, plateau) if plateau.has_exhaust else None
    end = ending_of(signals, plateau, descent, cycle)
    dried = descent is not None and (descent.has_vacuum or not _has_pump(signals, approach))
    stretches = [
        *_before(approach, plateau),
        *_after(signals, plateau, descent, is_dried=dried),
    ]
    return Course(
        stages=tuple(_judged(record, signals, stretch) for stretch in _filled(record, stretches)),
        pulses=approach.pulses,
        admissions=() if descent is None else descent.admissions,
        ending=end.ending,
        ending_why=end.why,
    )


def _unrecognised(record: Record, signals: Signals | None) -> Course:
    """Give the course of a record in which nothing was held hot; it may end under pressure."""
    why = Message("steam_stage.nothing_held")
    whole = Stage(
        StageKind.NOT_RECOGNISED,
        float(record.time_s[0]),
        float(record.time_s[-1]),
        Sure.DOUBTFUL,
        why,
    )
    end = ending_without_plateau(signals)
    if end is None:
        return Course((whole,), (), (), Ending.UNKNOWN, why)
    return Course((whole,), (), (), end.ending, end.why)


@dataclass(frozen=True, slots=True)
class _Stretch:
    """A stage before it is judged: what it is, and where."""

    kind: StageKind
    start_s: float
    stop_s: float


def _before(approach: Approach, plateau: Plateau) -> list[_Stretch]:
    """Give the stretches up to the end of the plateau."""
    stretches = []
    if approach.removal_start_s is not None:
        removal = approach.removal_start_s, approach.heating_start_s
        stretches.append(_Stretch(StageKind.AIR_REMOVAL, *removal))
    stretches.append(_Stretch(StageKind.HEATING, approach.heating_start_s, plateau.start_s))
    stretches.append(_Stretch(StageKind.PLATEAU, plateau.start_s, plateau.stop_s))
    return stretches


def _has_pump(signals: Signals, approach: Approach) -> bool:
    """Tell whether a pump drew vacua before: one that draws none afterwards has dried nothing."""
    lows = [pulse.low_kpa for pulse in approach.pulses]
    return bool(lows) and min(lows) < signals.atmosphere_kpa - PUMPED_KPA


def _after(
    signals: Signals, plateau: Plateau, descent: Descent | None, *, is_dried: bool
) -> list[_Stretch]:
    """Give the stretches after the plateau."""
    if descent is None:
        return []
    end_s = float(signals.time_s[-1])
    drying_stop_s = end_s if descent.drying_stop_s is None else descent.drying_stop_s
    stretches = [_Stretch(StageKind.EXHAUST, plateau.stop_s, descent.exhaust_stop_s)]
    if is_dried and descent.exhaust_stop_s < end_s and not descent.is_silent:
        stretches.append(_Stretch(StageKind.DRYING, descent.exhaust_stop_s, drying_stop_s))
    if descent.inlet_stop_s is not None:
        stretches.append(_Stretch(StageKind.AIR_INLET, drying_stop_s, descent.inlet_stop_s))
    return stretches


def _filled(record: Record, stretches: list[_Stretch]) -> list[_Stretch]:
    """Fill what lies before, between and behind with "not recognised"; drop what has no length."""
    filled: list[_Stretch] = []
    at_s = float(record.time_s[0])
    for stretch in stretches:
        start_s = max(stretch.start_s, at_s)
        if stretch.stop_s <= start_s:
            continue
        if start_s > at_s:
            filled.append(_Stretch(StageKind.NOT_RECOGNISED, at_s, start_s))
        filled.append(_Stretch(stretch.kind, start_s, stretch.stop_s))
        at_s = stretch.stop_s
    if at_s < float(record.time_s[-1]):
        filled.append(_Stretch(StageKind.NOT_RECOGNISED, at_s, float(record.time_s[-1])))
    return filled


def _judged(record: Record, signals: Signals, stretch: _Stretch) -> Stage:
    """Say how sure a stage is: by what was logged, how finely, and what the record's words say."""
    kind, start_s, stop_s = stretch.kind, stretch.start_s, stretch.stop_s
    if kind is StageKind.NOT_RECOGNISED:
        return Stage(kind, start_s, stop_s, Sure.DOUBTFUL, Message("steam_stage.at_rest"))
    share = said_share(record, kind, start_s, stop_s)
    contradicted = share is not None and share < CONTRADICTED
    if contradicted or not signals.has_pressure or signals.interval_s > COARSE_S:
        sure = Sure.LIKELY
    else:
        sure = Sure.CLEAR
    shape = kind.name.lower() if signals.has_pressure else "by_temperature"
    why = Message(f"steam_stage.shape.{shape}")
    if share is None:
        return Stage(kind, start_s, stop_s, sure, why)
    said = "contradicted" if contradicted else "agreed"
    return Stage(kind, start_s, stop_s, sure, Message(f"steam_stage.{said}", {"why": why}))
