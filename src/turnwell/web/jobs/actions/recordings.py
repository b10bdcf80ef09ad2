"""Writes of recordings: keep one, and listen to it.

A recording and its bytes are kept first, in one short transaction; listening comes after it, with
no lock held, and its results are written in another. What breaks off between the two is listened
to again later; nothing is lost.
"""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils import timezone

from turnwell.errors import InputError
from turnwell.web.accounts.models import User
from turnwell.web.evidence.actions import store_file
from turnwell.web.evidence.bounded import BusyError
from turnwell.web.evidence.models import StoredFile
from turnwell.web.evidence.storage import Readable
from turnwell.web.jobs.actions.testing import STAGES_OF
from turnwell.web.jobs.actions.writing import (
    check_stage,
    job_being_written,
    moment,
    refuse_corrected,
    require_shop,
)
from turnwell.web.jobs.analysis.sound import Heard, listen, test_that_holds
from turnwell.web.jobs.models import Recording, StoredReading, Test

__all__ = ["add_recording", "analyse_again", "keep_recording", "listen_anew"]

PROCESSING = ("echoCancellation", "noiseSuppression", "autoGainControl")


def keep_recording(
    *,
    by: User,
    test: Test,
    content: Readable,
    original_name: str,
    source: Recording.Source,
    browser_settings: Mapping[str, Any] | None = None,
    at: datetime | None = None,
) -> Recording:
    """Keep a recording that was sent, then listen to it.

    Parameters
    ----------
    content : readable
        The file's bytes, read once.
    source : Recording.Source
        Recorded on the page, or a file.
    browser_settings : mapping or None
        What the browser said of the microphone and of the take.

    Raises
    ------
    InputError
        If the file cannot be read as sound; nothing of it is kept then.
    StageError
        If the job is not at the stage of that test.
    """
    require_shop(by)
    _check_open(test)
    with transaction.atomic():
        file = store_file(
            by=by,
            kind=StoredFile.Kind.RECORDING,
            content=content,
            original_name=original_name,
            at=at,
        )
        recording = _entry(by, test, file, source=source, browser_settings=browser_settings, at=at)
    return _listened_to(recording)


def add_recording(
    *,
    by: User,
    test: Test,
    file: StoredFile,
    source: Recording.Source,
    browser_settings: Mapping[str, Any] | None = None,
    at: datetime | None = None,
) -> Recording:
    """Hang a stored file on a test as a recording, then listen to it.

    Raises
    ------
    InputError
        If the file is no recording or was erased, or the test does not hold.
    StageError
        If the job is not at the stage of that test.
    """
    require_shop(by)
    if file.kind != StoredFile.Kind.RECORDING or file.is_erased:
        raise InputError(f"{file} is not a recording that can be listened to; choose another file")
    _check_open(test)
    return _listened_to(
        _entry(by, test, file, source=source, browser_settings=browser_settings, at=at)
    )


def analyse_again(*, by: User, recording: Recording) -> Recording:
    """Listen again to a recording, with what is known by now, and replace its readings.

    Raises
    ------
    InputError
        If its bytes were erased, so that there is nothing to listen to.
    """
    require_shop(by)
    if recording.file.is_erased:
        raise InputError(
            f"{recording.file} was erased; its readings stay as they are and cannot be worked out"
            " again"
        )
    return _listened_to(recording)


def listen_anew(test: Test) -> None:
    """Listen again to what was recorded under the set-ups that this one corrects.

    Called once the correction is committed: the drive pressure decides which limit applies.
    """
    trail = [test.pk]
    while (earlier := Test.objects.filter(corrected_by=trail[-1]).first()) is not None:
        trail.append(earlier.pk)
    recordings = Recording.objects.standing().filter(test__in=trail, file__erased_at__isnull=True)
    for recording in recordings.select_related("file", "test__job__handpiece__model"):
        try:
            _listened_to(recording)
        except BusyError:
            # Its page says that it waits to be listened to, and offers to.
            Recording.objects.filter(pk=recording.pk).update(analysed_at=None)


def _check_open(test: Test) -> None:
    """Refuse a test that does not hold or a job that has gone on, before anything is received."""
    if test.left_out_because or test.is_taken_back:
        raise InputError("that test was left out; begin a test with its set-up first")
    refuse_corrected(test)
    check_stage(test.job, STAGES_OF[Test.When(test.when)], "a recording of that test")


def _entry(
    by: User,
    test: Test,
    file: StoredFile,
    *,
    source: Recording.Source,
    browser_settings: Mapping[str, Any] | None,
    at: datetime | None,
) -> Recording:
    """Write the row of a recording that nobody has listened to yet."""
    source, said = Recording.Source(source), dict(browser_settings or {})
    with job_being_written(test.job, version=None) as locked:
        check_stage(locked, STAGES_OF[Test.When(test.when)], "a recording of that test")
        return Recording.objects.create(
            test=test,
            file=file,
            source=source,
            browser_settings=said,
            is_processed=source == Recording.Source.BROWSER and _is_processed(said),
            entered_by=by,
            entered_at=moment(at, not_before=test.entered_at),
        )


def _is_processed(said: Mapping[str, Any]) -> bool:
    """Tell whether a browser changed the sound; what it does not say to be off may be on."""
    return any(said.get(name) is not False for name in PROCESSING)


def _listened_to(recording: Recording) -> Recording:
    """Listen with no lock held, then write what was heard or why nothing was."""
    try:
        heard, refusal = listen(recording), ""
    except InputError as error:
        heard, refusal = None, str(error)
    with transaction.atomic():
        kept = Recording.objects.select_for_update(of=("self",)).get(pk=recording.pk)
        kept.refused_because = refusal[:300]
        kept.listening = None if heard is None else heard.listening
        kept.core_version = "" if heard is None else heard.core_version
        kept.analysed_at = timezone.now()
        kept.save(update_fields=["refused_because", "listening", "core_version", "analysed_at"])
        kept.readings.all().delete()
        if heard is not None:
            StoredReading.objects.bulk_create(_rows(kept, heard))
    return kept


def _rows(recording: Recording, heard: Heard) -> list[StoredReading]:
    """Give the rows of what was heard; they hang on the test that holds by now."""
    test = test_that_holds(recording.test)
    return [
        StoredReading(
            test=test,
            recording=recording,
            key=reading.key,
            value=reading.value,
            verdict=reading.verdict.value,
            record=reading.as_record(),
            core="sound",
            core_version=heard.core_version,
        )
        for reading in heard.readings
    ]
