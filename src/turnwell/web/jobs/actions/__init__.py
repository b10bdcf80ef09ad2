"""Every write to a job: one function, one transaction."""

from turnwell.web.jobs.actions.checking import add_tachometer_reading
from turnwell.web.jobs.actions.estimating import add_option, answer_estimate
from turnwell.web.jobs.actions.explaining import (
    confirm_cause,
    show_ladder,
    write_own_view,
)
from turnwell.web.jobs.actions.findings import (
    GivenAnswer,
    SentPhoto,
    write_finding,
    write_findings,
)
from turnwell.web.jobs.actions.notes import take_back, write_note
from turnwell.web.jobs.actions.readings import compute_readings
from turnwell.web.jobs.actions.rebuilding import use_part, write_run_in
from turnwell.web.jobs.actions.stages import move_on, stop_waiting, wait_for
from turnwell.web.jobs.actions.take_in import OpenJobError, take_in
from turnwell.web.jobs.actions.testing import add_measurement, add_test, leave_out_test
from turnwell.web.jobs.actions.writing import Correction, job_being_written

__all__ = [
    "Correction",
    "GivenAnswer",
    "OpenJobError",
    "SentPhoto",
    "add_measurement",
    "add_option",
    "add_tachometer_reading",
    "add_test",
    "answer_estimate",
    "compute_readings",
    "confirm_cause",
    "job_being_written",
    "leave_out_test",
    "move_on",
    "show_ladder",
    "stop_waiting",
    "take_back",
    "take_in",
    "use_part",
    "wait_for",
    "write_finding",
    "write_findings",
    "write_note",
    "write_own_view",
    "write_run_in",
]
