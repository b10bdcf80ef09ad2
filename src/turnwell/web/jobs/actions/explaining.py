"""Writes of what brought a failure about: own view, ladder as shown, confirmed cause."""

from collections.abc import Iterable
from datetime import datetime

from turnwell.errors import InputError, StageError
from turnwell.web.accounts.models import User
from turnwell.web.jobs.actions.writing import (
    Correction,
    correction_fields,
    job_being_written,
    kept_text,
    moment,
    require_shop,
)
from turnwell.web.jobs.analysis.causes import ladder_record
from turnwell.web.jobs.facts import check_cause
from turnwell.web.jobs.models import (
    ConfirmedCause,
    Job,
    OwnView,
    ShownLadder,
)

__all__ = ["confirm_cause", "show_ladder", "write_own_view"]


def write_own_view(
    *,
    by: User,
    job: Job,
    cause_key: str = "",
    words: str = "",
    at: datetime | None = None,
    version: int | None = None,
) -> OwnView:
    """Write down what the technician thinks brought it about, before the ladder is shown.

    Parameters
    ----------
    cause_key : str
        A cause of the catalogue; empty for "no view yet".

    Raises
    ------
    InputError
        If the cause is unknown.
    """
    require_shop(by)
    if cause_key:
        check_cause(cause_key)
    words = kept_text(words, "the view", most=300)
    with job_being_written(job, version=version) as locked:
        earlier = locked.own_views.standing().last()
        return OwnView.objects.create(
            job=locked,
            cause_key=cause_key,
            words=words,
            entered_by=by,
            entered_at=moment(at, not_before=locked.taken_in_at),
            corrects=earlier,
            correction_reason="thought again" if earlier else "",
        )


def show_ladder(
    *, by: User, job: Job, at: datetime | None = None, version: int | None = None
) -> ShownLadder:
    """Rank the causes by the evidence so far and keep the ranking as it is shown.

    Raises
    ------
    StageError
        If the technician's own view was not asked first.
    """
    require_shop(by)
    with job_being_written(job, version=version) as locked:
        if not locked.own_views.exists():
            raise StageError("write your own view first, or that you have none yet")
        record, core_version = ladder_record(locked)
        return ShownLadder.objects.create(
            job=locked,
            record=record,
            core_version=core_version,
            by=by,
            at=moment(at, not_before=locked.taken_in_at),
        )


def confirm_cause(
    *,
    by: User,
    job: Job,
    cause_key: str,
    contributing: Iterable[str] = (),
    words: str = "",
    at: datetime | None = None,
    version: int | None = None,
    correction: Correction | None = None,
) -> ConfirmedCause:
    """Name the main cause; whether it was the own view, and whether the ladder was seen, is kept.

    A cause named before is corrected by the new one.

    Parameters
    ----------
    contributing : iterable of str
        Keys of causes that contributed, the main one not among them.

    Raises
    ------
    InputError
        If a cause is unknown, contributes to itself, or "something else" has no words.
    """
    require_shop(by)
    check_cause(cause_key)
    others = list(dict.fromkeys(check_cause(key) for key in contributing))
    if cause_key in others:
        raise InputError(f"{cause_key} cannot contribute to itself; untick it, or name another")
    words = kept_text(
        words, "what it was, in words", most=300, required=cause_key == "something_else"
    )
    with job_being_written(job, version=version) as locked:
        earlier = locked.causes.standing().last()
        if correction is None and earlier is not None:
            correction = Correction(earlier, "named anew")
        ladder = locked.ladders.first()
        views = locked.own_views.filter(is_taken_back=False)
        if ladder is not None:
            views = views.filter(entered_at__lte=ladder.at)
        view = views.last()
        return ConfirmedCause.objects.create(
            job=locked,
            cause_key=cause_key,
            contributing=others,
            words=words,
            is_after_ladder=ladder is not None,
            is_own_view=view is not None and view.cause_key == cause_key,
            entered_by=by,
            entered_at=moment(at, not_before=locked.taken_in_at),
            **correction_fields(correction, ConfirmedCause, locked),
        )
