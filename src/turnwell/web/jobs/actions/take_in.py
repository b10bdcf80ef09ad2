"""Takes a handpiece in: opens a job, never before the handpiece was sterilized."""

from collections.abc import Iterable
from datetime import datetime

from django.db import IntegrityError, transaction

from turnwell.errors import InputError
from turnwell.web.accounts.models import User
from turnwell.web.handpieces.models import Handpiece
from turnwell.web.jobs.actions.writing import kept_text, moment, require_shop
from turnwell.web.jobs.facts import check_complaints
from turnwell.web.jobs.models import Job, Stage, StageChange
from turnwell.web.shared.codes import new_code, read_code

__all__ = ["MOST_CYCLES", "OpenJobError", "take_in"]

CODE_TRIES = 5
MOST_CYCLES = 200_000


class OpenJobError(InputError):
    """The handpiece is at the bench already.

    Parameters
    ----------
    job : Job
        The open job.
    """

    def __init__(self, job: Job) -> None:
        self.job = job
        super().__init__(
            f"handpiece {job.handpiece.code} is here already, as job {job.code}"
            f" ({Stage(job.stage).label.lower()}); go on with that one"
        )


def take_in(
    *,
    by: User,
    handpiece: Handpiece,
    reason: Job.Reason,
    complaints: Iterable[str],
    complaint_words: str,
    sterilized_by: Job.SterilizedBy,
    sterilizer_load: str = "",
    known_cycles: int | None = None,
    at: datetime | None = None,
    code: str | None = None,
) -> Job:
    """Open a job for a handpiece that was sterilized before anybody touched it.

    Parameters
    ----------
    complaints : iterable of str
        Keys of the catalogue's complaints; a fault needs one, or words.
    complaint_words : str
        In the office's words, without patient data, up to 2,000 characters.
    sterilized_by : Job.SterilizedBy
        By the office, or here; here needs the number of the load.
    known_cycles : int or None
        Care cycles counted so far, where somebody counted.
    code : str or None
        Code of a label that is printed already; a new one when None.

    Raises
    ------
    NotAllowedError
        If the person is not of the shop.
    OpenJobError
        If the handpiece has an open job.
    InputError
        If it was not sterilized, is retired, or a value is wrong.
    """
    require_shop(by)
    values: dict[str, object] = {
        "reason": Job.Reason(reason),
        "complaints": check_complaints(complaints),
        "complaint_words": kept_text(complaint_words, "the complaint", most=2000),
        "sterilizer_load": kept_text(sterilizer_load, "the sterilizer load", most=60),
        "sterilized_by": sterilized_by,
        "known_cycles": known_cycles,
    }
    _check_sterilized(sterilized_by, str(values["sterilizer_load"]))
    if values["reason"] == Job.Reason.FAULT and not (complaints or values["complaint_words"]):
        raise InputError("a fault needs what the office says: tick a complaint or write it down")
    if known_cycles is not None and not 0 <= known_cycles <= MOST_CYCLES:
        raise InputError(f"{known_cycles} cycles, must lie between 0 and {MOST_CYCLES}")
    if handpiece.retired_on is not None:
        raise InputError(f"handpiece {handpiece.code} is retired; put it back in use first")
    values["taken_in_at"] = values["stage_since"] = moment(at)
    values["taken_in_by"] = by
    return _open_job(handpiece, values, code)


def _check_sterilized(sterilized_by: str, load: str) -> None:
    """Refuse what was not sterilized: the one gate that nothing passes around."""
    if sterilized_by not in Job.SterilizedBy.values:
        raise InputError(
            "it is contaminated until sterilized: leave it in its pouch, sterilize it, then take"
            " it in"
        )
    if sterilized_by == Job.SterilizedBy.HERE and not load:
        raise InputError("sterilized here: write the number of the sterilizer load")


def _open_job(handpiece: Handpiece, values: dict[str, object], code: str | None) -> Job:
    """Write the job and its first step under the given code, or the first free one."""
    if code is not None and read_code(code) != code:
        raise InputError(f"{code!r} is no code of a job")
    for _ in range(CODE_TRIES):
        with transaction.atomic():
            _refuse_second(handpiece)
            chosen = code or new_code("J")
            if Job.objects.filter(code=chosen).exists():
                if code is not None:
                    raise InputError(f"code {code} is taken by another job; print a new label")
                continue
            return _written(handpiece, values, chosen)
    raise InputError("no free code was found; try again")


def _written(handpiece: Handpiece, values: dict[str, object], code: str) -> Job:
    try:
        with transaction.atomic():
            job = Job.objects.create(
                code=code, handpiece=handpiece, office=handpiece.office, **values
            )
    except IntegrityError:
        # Another bench took the same handpiece in between the look and the write.
        _refuse_second(handpiece)
        raise
    StageChange.objects.create(
        job=job, to_stage=Stage.TAKEN_IN, at=job.taken_in_at, by=job.taken_in_by
    )
    return job


def _refuse_second(handpiece: Handpiece) -> None:
    already = Job.objects.open().filter(handpiece=handpiece).select_related("handpiece").first()
    if already is not None:
        raise OpenJobError(already)
