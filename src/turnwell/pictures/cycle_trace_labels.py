"""Where the labels of a cycle trace have room at a width of the picture."""

from dataclasses import dataclass
from typing import Any

from turnwell.pictures.cycle_run import CycleRun, FaultSpan, StageSpan
from turnwell.pictures.cycle_trace import stage_name
from turnwell.pictures.figures import written
from turnwell.pictures.speed_trace_labels import label_width
from turnwell.words import text_of

__all__ = [
    "FAULT_ROW",
    "Clock",
    "FaultMark",
    "fault_marks",
    "head_labels",
    "nothing_to_compare",
    "words_in",
]

# Stages are named in this order as long as there is room; a shorter one gets no figure.
NAMED_FIRST = ("plateau", "drying", "air removal", "heating", "exhaust", "air inlet")
LEAST_MIN = 0.1
# How far a name may stand before its stage, in parts of itself.
MOST_SHIFT = 0.75
# Height of a row of faults, and how many there are at most. The last has no words: there strokes
# that found no other place may lie on one another.
FAULT_ROW = 18.0
MOST_ROWS = 4
# The least a fault's stroke is long: what is shorter could not be seen.
LEAST_PX = 5.0
GAP_PX = 6.0


@dataclass(frozen=True, slots=True)
class Clock:
    """The axis of time: so many pixels for so many minutes."""

    width_px: float
    stop_min: float

    def px(self, minutes: float) -> float:
        """Give the place of a time in pixels."""
        return minutes * self.width_px / self.stop_min

    def minutes(self, px: float) -> float:
        """Give the time at a place."""
        return px * self.stop_min / self.width_px


@dataclass(frozen=True, slots=True)
class FaultMark:
    """The stroke of a fault, and its word where there is room.

    Parameters
    ----------
    start_min, stop_min : float
        Of the stroke.
    row : int
        From above, 0 first.
    text : str
        Empty where there is no room.
    text_min : float
        Where the word begins.
    text_row : int
        The stroke's own, or the one below it.
    """

    start_min: float
    stop_min: float
    row: int
    text: str
    text_min: float
    text_row: int


@dataclass(frozen=True, slots=True)
class _Place:
    """The rows of a stroke and of its word, and where the word begins; None for no word."""

    row: int
    text_row: int
    text_px: float | None


def head_labels(run: CycleRun, clock: Clock, language: str) -> dict[str, list[dict[str, Any]]]:
    """Name the stages where there is room, in two rows: plateau and drying before the others."""
    heads = _Heads(clock, language)
    # How long it held and dried counts more than the name of a short stage beside it.
    for kinds in (NAMED_FIRST[:2], NAMED_FIRST[2:]):
        stages = [stage for kind in kinds for stage in run.stages if stage.kind == kind]
        starts = [heads.name(stage) for stage in stages]
        for stage, start in zip(stages, starts, strict=True):
            if start is not None:
                heads.figure(stage, start)
    return heads.labels


class _Heads:
    """The two rows over the plot as they fill up."""

    def __init__(self, clock: Clock, language: str) -> None:
        self.clock, self.language = clock, language
        self.labels: dict[str, list[dict[str, Any]]] = {
            "upper_names": [],
            "lower_names": [],
            "figures": [],
        }
        self._taken: tuple[list[tuple[float, float]], ...] = ([], [])

    def name(self, stage: StageSpan) -> float | None:
        """Name a stage; give where, if it stands on top."""
        name = stage_name(stage.kind, self.language)
        # A name near the end of the axis begins further left, so that all of it can be read.
        start = min(self.clock.px(stage.start_min), self.clock.width_px - label_width(name))
        if self.clock.px(stage.start_min) - start > MOST_SHIFT * label_width(name):
            return None
        if self._put("upper_names", 0, name, start):
            return start
        self._put("lower_names", 1, name, start)
        return None

    def figure(self, stage: StageSpan, start: float) -> None:
        """Write how long a stage took under its name."""
        minutes = stage.stop_min - stage.start_min
        if minutes >= LEAST_MIN:
            self._put("figures", 1, f"{written(minutes, 1)} min", start)

    def _put(self, kind: str, row: int, text: str, start: float) -> bool:
        stop = start + label_width(text) + 8.0
        if start < 0.0 or stop > self.clock.width_px + 8.0:
            return False
        if any(start < end and begin < stop for begin, end in self._taken[row]):
            return False
        self._taken[row].append((start, stop))
        self.labels[kind].append({"minutes": self.clock.minutes(start), "text": text})
        return True


def fault_marks(run: CycleRun, clock: Clock) -> list[FaultMark]:
    """Put each fault's stroke where it shows, and its word after it, else before it, else below.

    Each takes the first rows in which it touches no other. A stroke that finds none goes to the
    last row, without its word.
    """
    taken: list[list[tuple[float, float]]] = [[] for _ in range(MOST_ROWS)]
    marks = []
    for fault in sorted(run.faults, key=lambda one: (one.start_min, one.stop_min)):
        start, stop = _stroke(fault, clock)
        place = _place(label_width(fault.name), start, stop, clock, taken)
        text_px = start if place.text_px is None else place.text_px
        taken[place.row].append((start, stop))
        if place.text_px is not None:
            taken[place.text_row].append((text_px, text_px + label_width(fault.name)))
        marks.append(
            FaultMark(
                start_min=clock.minutes(start),
                stop_min=clock.minutes(stop),
                row=place.row,
                text="" if place.text_px is None else fault.name,
                text_min=clock.minutes(text_px),
                text_row=place.text_row,
            )
        )
    return marks


def words_in(full: str, short: str, start_min: float, stop_min: float, clock: Clock) -> str:
    """Give the longer of two wordings that has room in a stretch; empty for none."""
    room = clock.px(stop_min) - clock.px(start_min)
    return next((text for text in (full, short) if label_width(text) + GAP_PX <= room), "")


def nothing_to_compare(run: CycleRun, clock: Clock, language: str) -> list[dict[str, Any]]:
    """Say in the widest stretch without a difference why there is none."""
    if not run.difference.points:
        return []
    starts = [piece[0][0] for piece in run.difference.pieces]
    stops = [piece[-1][0] for piece in run.difference.pieces]
    empty = zip([0.0, *stops], [*starts, run.stop_min], strict=True)
    start, stop = max(empty, key=lambda ends: ends[1] - ends[0])
    full = text_of("pictures.cycletrace.no_steam_here", language)
    short = text_of("pictures.cycletrace.no_steam", language)
    text = words_in(full, short, start, stop, clock)
    return [{"minutes": (start + stop) / 2.0, "text": text}] if text else []


def _stroke(fault: FaultSpan, clock: Clock) -> tuple[float, float]:
    """Give the ends of a stroke in pixels, on the axis and long enough to be seen."""
    start = min(clock.px(fault.start_min), clock.width_px - LEAST_PX)
    stop = min(clock.px(fault.stop_min), clock.width_px)
    return start, max(stop, start + LEAST_PX)


def _place(
    need: float, start: float, stop: float, clock: Clock, taken: list[list[tuple[float, float]]]
) -> _Place:
    """Give the first rows in which a stroke and its word touch no other."""
    last = len(taken) - 1
    under = min(start, clock.width_px - need)
    for row in range(last):
        if _touches((start, stop), taken[row]):
            continue
        for text_row, at in ((row, stop + GAP_PX), (row, start - GAP_PX - need), (row + 1, under)):
            is_on_axis = at >= 0.0 and at + need <= clock.width_px
            if is_on_axis and text_row < last and not _touches((at, at + need), taken[text_row]):
                return _Place(row, text_row, at)
    free = (row for row in range(last) if not _touches((start, stop), taken[row]))
    row = next(free, last)
    return _Place(row, row, None)


def _touches(ends: tuple[float, float], taken: list[tuple[float, float]]) -> bool:
    return any(ends[0] < stop + GAP_PX and start < ends[1] + GAP_PX for start, stop in taken)
