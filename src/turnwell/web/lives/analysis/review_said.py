"""What an office review says in sentences: the answer, what cannot be told, how it was counted."""

from collections.abc import Iterator
from math import isfinite

from turnwell import papers
from turnwell.web.lives.analysis.changes import VisitChecked
from turnwell.web.lives.analysis.review import OfficeReview
from turnwell.web.shared.times import day_shown
from turnwell.words import Message, Param, text_of

__all__ = ["counted", "in_short", "untold"]

# Nobody waits longer than this for an answer.
MOST_DAYS_AHEAD = 730


def in_short(review: OfficeReview) -> str:
    """Say the answer first: what a training did where that is shown, else how the office stands."""
    for one in review.visits:
        if one.visit.was_training and one.change is not None and one.change.is_changed:
            way = "fell" if one.change.factor.value < 1.0 else "rose"
            changed: dict[str, Param] = {
                "day": day_shown(one.span.day),
                "factor": one.change.factor.value,
            }
            return text_of(Message(f"lives.short.{way}", changed))
    if not review.handpieces:
        return text_of("lives.short.nothing")
    params: dict[str, Param] = {"count": review.returns.count, "handpieces": review.handpieces}
    if review.against.value is None:
        return text_of(Message("lives.short.alone", params))
    params["factor"] = review.against.value
    return text_of(Message(f"lives.short.{review.against.verdict.key}", params))


def untold(review: OfficeReview) -> tuple[papers.Untold, ...]:
    """Give what cannot be told, and what would tell it."""
    return tuple(_untold(review))


def _untold(review: OfficeReview) -> Iterator[papers.Untold]:
    for one in review.visits:
        if one.told is None:
            day: dict[str, Param] = {"day": day_shown(one.span.day)}
            yield papers.Untold(text_of(Message("lives.untold.visit", day)), one.why_not)
        elif one.change is not None and not one.change.is_changed:
            times = one.change.longer_window()
            if times > 1.0:
                yield _longer(one, times)
    if review.causes is None:
        yield _what("causes")
    if review.effects.why_not:
        yield papers.Untold(text_of("lives.untold.actions"), review.effects.why_not)
    if review.spent.returns and not review.spent.priced:
        yield _what("money")


def _longer(one: VisitChecked, times: float) -> papers.Untold:
    """Say how much longer the time after a visit must be to show a halving."""
    day: dict[str, Param] = {"day": day_shown(one.span.day)}
    what = text_of(Message("lives.untold.change", day))
    if not isfinite(times):
        return papers.Untold(what, text_of("lives.untold.never"))
    days = (one.span.stop - one.span.day).days * (times - 1.0)
    if days > MOST_DAYS_AHEAD:
        return papers.Untold(what, text_of("lives.untold.too_long"))
    return papers.Untold(what, text_of(Message("lives.untold.longer", {"days": days})))


def _what(key: str) -> papers.Untold:
    return papers.Untold(text_of(f"lives.untold.{key}"), text_of(f"lives.would_tell.{key}"))


def counted(review: OfficeReview) -> tuple[tuple[str, str], ...]:
    """Say how it was counted: what a line is about, and the line."""
    causes = review.causes
    params: dict[str, Param] = {
        "first": day_shown(review.first),
        "last": day_shown(review.last),
        "handpieces": review.handpieces,
        "years": review.years,
        "returns": review.returns.count,
        "lives": 0 if causes is None else causes.behind.count,
        "clock": "days" if causes is None else causes.behind.clock.value,
    }
    keys = ("period", "observed", "returns", "rates", *(("causes",) if causes else ()))
    return tuple(
        (
            text_of(f"lives.counted_head.{key}"),
            text_of(Message(f"lives.counted_line.{key}", params)),
        )
        for key in keys
    )
