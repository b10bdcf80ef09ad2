"""Recordings of a run of known speed, for the tests of jobs."""

import io
from pathlib import Path

from django.conf import settings

from tests.people import theo_the_technician
from tests.web.evidence.files import tone, wav
from turnwell.web.jobs.actions.recordings import keep_recording

__all__ = ["ALL_OFF", "RUN", "RUN_HZ", "RUN_RPM", "everything_kept", "keep"]

ALL_OFF = {"echoCancellation": False, "noiseSuppression": False, "autoGainControl": False}
RUN_HZ = 6_666.0
RUN_RPM = RUN_HZ * 60.0
RUN = wav(tone(RUN_HZ, 3.0))


def keep(test, content=RUN, *, by=None, name="run.wav", source="file", **more):
    return keep_recording(
        by=by or theo_the_technician(),
        test=test,
        content=io.BytesIO(content),
        original_name=name,
        source=source,
        **more,
    )


def everything_kept():
    return [path for path in Path(settings.EVIDENCE_ROOT).rglob("*") if path.is_file()]
