"""Returns before and after each visit to an office, held against what chance and habit explain."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from turnwell import papers
from turnwell.life import Change, Estimate, Spell, rate_ratio
from turnwell.measure import Basis, Limit, Reading, cannot_tell
from turnwell.web.lives.analysis.windows import (
    Span,
    Window,
    Windows,
    spell_before,
    windows_of,
)
from turnwell.web.lives.records import ShopRecords
from turnwell.web.offices.models import Office
from turnwell.web.shared.times import day_shown
from turnwell.web.visits.models import Visit
from turnwell.words import Message, Param, text_of

__all__ = ["VisitChecked", "checked_visits", "is_too_young", "span_of"]

# How far back and ahead of a visit is looked, at most; shorter where another training lies between.
LONGEST = timedelta(days=730)
# Less than this after a visit says nothing of it (common practice).
SHORTEST = timedelta(days=30)
MOST_SHOWN = 4
WORTH_A_WARNING = 0.95
A_YEAR = "a year"


@dataclass(frozen=True, slots=True, eq=False)
class VisitChecked:
    """A visit with its windows, and what can be told of it.

    Parameters
    ----------
    visit : Visit
    span : Span
        How far was looked back and ahead.
    told : papers.TrainingChecked or None
        None where the visit is too young, or nothing was at risk.
    why_not : str
        Reason where `told` is None.
    change : Change or None
        The numbers behind `told`.
    pace_before : Estimate or None
        Returns a handpiece and year before the visit.
    """

    visit: Visit
    span: Span
    told: papers.TrainingChecked | None
    why_not: str = ""
    change: Change | None = None
    pace_before: Estimate | None = None


def checked_visits(
    records: ShopRecords, office: Office, visits: Sequence[Visit], today: date
) -> tuple[VisitChecked, ...]:
    """Check the newest visits of an office, trainings before others, the newest first."""
    chosen = sorted(visits, key=lambda visit: (visit.was_training, visit.visited_on), reverse=True)
    shown = sorted(chosen[:MOST_SHOWN], key=lambda visit: visit.visited_on, reverse=True)
    return tuple(_checked(records, office, visit, visits, today) for visit in shown)


def span_of(day: date, trained: Iterable[date], today: date) -> Span:
    """Give how far is looked back and ahead of a day: up to the trainings on either side."""
    others = [on for on in trained if on != day]
    return Span(
        start=max([day - LONGEST, *(on for on in others if on < day)]),
        day=day,
        stop=min([day + LONGEST, today, *(on for on in others if on > day)]),
    )


def is_too_young(span: Span) -> bool:
    """Tell whether too little time has passed since the day to say anything of it."""
    return span.stop - span.day < SHORTEST


def _checked(
    records: ShopRecords, office: Office, visit: Visit, visits: Sequence[Visit], today: date
) -> VisitChecked:
    trained = [one.visited_on for one in visits if one.was_training]
    span = span_of(visit.visited_on, trained, today)
    if is_too_young(span):
        left = (SHORTEST - (span.stop - span.day)).days
        params: dict[str, Param] = {"days": left, "day": day_shown(span.day)}
        return VisitChecked(visit, span, None, text_of(Message("lives.young", params)))
    windows = windows_of(records, office, span)
    if windows is None:
        return VisitChecked(visit, span, None, text_of("lives.nothing_at_risk"))
    return _told(visit, span, windows, spell_before(records, office, span, windows))


def _told(visit: Visit, span: Span, windows: Windows, bad: Spell | None) -> VisitChecked:
    found = windows.change()
    why_not = "" if found else text_of("lives.no_return_before")
    said = [text_of(found.sentence())] if found else []
    if bad is not None and bad.is_bad:
        said.append(text_of(bad.sentence()))
    warning = found.warning() if found else None
    # What falls by less is not worth a warning beside the interval.
    if warning is not None and found is not None and found.by_itself < WORTH_A_WARNING:
        said.append(text_of(warning))
    told = papers.TrainingChecked(
        on=span.day,
        says=" ".join(said) or why_not,
        before=_rate_reading("returns_before", windows.before),
        after=_rate_reading("returns_after", windows.after),
        plain=_plain(windows),
        shrunken=_shrunken(found),
        # A spell above the office's own expectation may be why it was visited.
        after_a_bad_spell=bad is None or bad.count > bad.expected.value,
        was_training=visit.was_training,
        why_not_shrunken=why_not,
    )
    return VisitChecked(visit, span, told, why_not, found, windows.before.rate)


def _rate_reading(key: str, window: Window) -> Reading:
    why = Message("lives.counted", {"returns": window.count, "years": window.years})
    return window.rate.reading(key, A_YEAR, why=why)


def _plain(windows: Windows) -> Reading:
    """Give the ratio as counted; it is held against no limit, since it proves nothing alone."""
    before, after = windows.before, windows.after
    if not before.count + after.count:
        return cannot_tell("change_plain", "times", Message("lives.no_ratio"))
    ratio = rate_ratio(after.count, after.years, before.count, before.years).ratio
    return ratio.reading(
        "change_plain",
        "times",
        why=Message("lives.plain_alone"),
        open_end=Message("lives.ratio_open", {"low": ratio.low}),
    )


def _shrunken(found: Change | None) -> Reading | None:
    if found is None:
        return None
    no_change = Limit(low=None, high=1.0, source=text_of("lives.limit.no_change"), basis=Basis.OWN)
    return found.factor.reading(
        "change_shrunken",
        "times",
        limit=no_change,
        why=Message(f"lives.shrunken.{'changed' if found.is_changed else 'open'}"),
        open_end=Message("lives.ratio_open", {"low": found.factor.low}),
    )
