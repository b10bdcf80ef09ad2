"""One stay of one handpiece of the invented shop, stage by stage."""

import io
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from turnwell.catalogue import Catalogue
from turnwell.demo.faults import Fault, looked_for, running_of, seen_answers
from turnwell.demo.repairs import ADJUSTING, RENEWING, Repair, repair_of, warranty_months
from turnwell.demo.shop import DemoShop
from turnwell.demo.sounds import Running, sound_of, wav_bytes
from turnwell.web.evidence.actions import store_file
from turnwell.web.evidence.models import StoredFile
from turnwell.web.handpieces.models import Handpiece
from turnwell.web.jobs import actions
from turnwell.web.jobs.actions.recordings import add_recording
from turnwell.web.jobs.models import (
    EstimateAnswer,
    EstimateOption,
    Finding,
    Job,
    OptionKind,
    Recording,
    Stage,
    Test,
    Waiting,
)
from turnwell.web.shared.codes import new_code

__all__ = ["Trip", "travel"]

WORDS = {
    "no_torque": "no power at the crown prep",
    "howls_or_screams": "it screams since Monday",
    "rattles_or_rough": "rattles, the doctor will not use it",
}


@dataclass(frozen=True, slots=True)
class Trip:
    """What one stay is about, and how far it comes."""

    shop: DemoShop
    handpiece: Handpiece
    fault: Fault
    start: datetime
    until: Stage
    is_recorded: bool


def travel(trip: Trip, catalogue: Catalogue, rng: np.random.Generator, now: datetime) -> Job:
    """Write one stay down as the technician would have, up to the stage it has come to."""
    told = _Telling(trip, catalogue, rng, now)
    for stage, tell in STAGES:
        if told.job.stage == trip.until:
            break
        tell(told)
        told.move_on(stage)
    told.wait()
    return told.job


class _Telling:
    """The writing down of one stay; its clock never passes the present."""

    def __init__(
        self, trip: Trip, catalogue: Catalogue, rng: np.random.Generator, now: datetime
    ) -> None:
        self.trip, self.catalogue, self.rng = trip, catalogue, rng
        self.by, self.at, self.now = trip.shop.technician, trip.start, now
        at_office = rng.random() < 0.7
        self.job = actions.take_in(
            by=self.by,
            handpiece=trip.handpiece,
            reason=Job.Reason.FAULT,
            complaints=[trip.fault.complaint],
            complaint_words=WORDS.get(trip.fault.complaint, ""),
            sterilized_by=Job.SterilizedBy.OFFICE if at_office else Job.SterilizedBy.HERE,
            sterilizer_load="" if at_office else f"{trip.start:%y%m%d}-1",
            known_cycles=trip.shop.cycles_at(trip.handpiece, trip.start),
            at=trip.start,
            code=new_code("J", int(rng.integers(32**5))),
        )

    def later(self, hours: float) -> datetime:
        """Let hours pass; near the present they shrink."""
        self.at = min(self.at + timedelta(hours=hours), self.at + (self.now - self.at) / 2)
        return self.at

    def move_on(self, stage: Stage) -> None:
        """Move the job on to its next stage, or to the end that the story has for it."""
        if stage is Stage.ESTIMATED and self.trip.until is Stage.NOT_WORTH_REPAIRING:
            stage = Stage.NOT_WORTH_REPAIRING
        ends = stage is Stage.NOT_WORTH_REPAIRING
        actions.move_on(
            by=self.by,
            job=self.job,
            to=stage,
            reason="A new one costs less than its cartridge and chuck" if ends else "",
            at=self.later(0.2),
        )
        self.job.refresh_from_db()

    def wait(self) -> None:
        """Say what a job on the bench waits for."""
        waits = {Stage.ESTIMATED: Waiting.ANSWER, Stage.AGREED: Waiting.PARTS}
        what = waits.get(Stage(self.job.stage))
        if what is not None:
            owner = str(self.job.office) if what is Waiting.ANSWER else "the supplier"
            actions.wait_for(by=self.by, job=self.job, what=what, owner=owner, at=self.at)

    def test_as_received(self) -> None:
        """Test it as it came."""
        self._test(Test.When.AS_RECEIVED, self.trip.fault)

    def prove(self) -> None:
        """Run it in and test it again with the same set-up."""
        actions.write_run_in(by=self.by, job=self.job, minutes=10.0, at=self.later(2))
        self._test(Test.When.FINAL, None)

    def open(self) -> None:
        """Open it, or hand it back: nothing to write before."""

    def explain_and_estimate(self) -> None:
        """Answer the short list, say the own view, look at the ladder, settle, estimate."""
        fault = self.trip.fault
        findings = looked_for(self.trip.handpiece, self.catalogue)
        for key, seen in seen_answers(fault, findings, self.catalogue, self.rng).items():
            answer = Finding.Answer.SEEN if seen else Finding.Answer.NOT_SEEN
            actions.write_finding(
                by=self.by, job=self.job, key=key, answer=answer, at=self.later(0.05)
            )
        own = fault.cause if self.rng.random() < 0.6 else ""
        actions.write_own_view(by=self.by, job=self.job, cause_key=own, at=self.later(0.2))
        actions.show_ladder(by=self.by, job=self.job, at=self.later(0.1))
        words = "a part cracked from new" if fault.cause == "something_else" else ""
        actions.confirm_cause(
            by=self.by, job=self.job, cause_key=fault.cause, words=words, at=self.later(0.2)
        )
        repair = repair_of(fault.cause)
        if repair.kind is not OptionKind.ADJUST:
            self._offer(ADJUSTING)
        self._offer(repair)
        if "turbine" in self.trip.handpiece.class_key:
            self._offer(RENEWING)

    def hear_the_answer(self) -> None:
        """Hear the office agree to the repair, a day or two later."""
        kind = repair_of(self.trip.fault.cause).kind
        option = EstimateOption.objects.get(job=self.job, kind=kind)
        actions.answer_estimate(
            by=self.by,
            job=self.job,
            answer=EstimateAnswer.Answer.AGREED,
            answered_by="Front desk",
            option=option,
            answered_at=self.later(float(self.rng.uniform(8, 44))),
            at=self.at,
        )

    def rebuild(self) -> None:
        """Write down what went in."""
        part = repair_of(self.trip.fault.cause).part
        actions.use_part(by=self.by, job=self.job, name=part, at=self.later(20))

    def _offer(self, repair: Repair) -> None:
        actions.add_option(
            by=self.by,
            job=self.job,
            kind=repair.kind,
            parts_price=repair.parts_price,
            labour_price=repair.labour_price,
            warranty_months=warranty_months(repair.kind),
            at=self.later(0.1),
        )

    def _test(self, when: Test.When, fault: Fault | None) -> None:
        instruments, model = self.trip.shop.instruments, self.trip.handpiece.model
        test = actions.add_test(
            by=self.by,
            job=self.job,
            when=when,
            drive_pressure_kpa=(model.label_pressure_kpa if model else None) or 276.0,
            pressure_gauge=instruments["Gauge at the handpiece"],
            mounted=Test.Mounted.BLANK,
            is_spray_on=False,
            stand="Foam block, 20 cm",
            microphone=instruments["Bench microphone"],
            at=self.later(1),
        )
        running = running_of(self.trip.handpiece, fault, self.rng)
        if self.trip.is_recorded:
            self._record(test, running)
        else:
            ratio = (model.motor_turns_per_bur_turn if model else None) or 1.0
            self._measure(test, "free_running_speed", running.speed_rpm / ratio, 0.002, -1)
        if "turbine" in self.trip.handpiece.class_key:
            cause = fault.cause if fault else ""
            pull = 17.0 if cause == "chuck_worn_or_sterilized_open" else 31.0
            bent = cause in {"drop_or_blow", "unsuitable_bur_or_side_load"}
            self._measure(test, "chuck_extraction_force", pull, 0.04, 1)
            self._measure(test, "run_out", 0.038 if bent else 0.014, 0.06, 3)

    def _record(self, test: Test, running: Running) -> None:
        file = store_file(
            by=self.by,
            kind=StoredFile.Kind.RECORDING,
            content=io.BytesIO(wav_bytes(sound_of(running, self.rng))),
            original_name=f"{self.job.code.lower()}-{test.when.replace('_', '-')}.wav",
            at=self.later(0.2),
        )
        source = Recording.Source.FILE
        recording = add_recording(by=self.by, test=test, file=file, source=source, at=self.at)
        if "turbine" in self.trip.handpiece.class_key:
            self._read_tachometer(recording, running)

    def _read_tachometer(self, recording: Recording, running: Running) -> None:
        """Read the tachometer while it was recorded: a little low, rounded to its step."""
        # Chance of its own: what else happens in the shop does not hang on this reading.
        rng = np.random.default_rng(recording.pk)
        speed_rpm = running.speed_rpm * (1.0 + 2e-4 * (rng.standard_normal() - 0.5))
        actions.add_tachometer_reading(
            by=self.by,
            recording=recording,
            speed_rpm=float(np.round(speed_rpm, -1)),
            instrument=self.trip.shop.instruments[INSTRUMENT_OF["free_running_speed"]],
            at=self.later(0.02),
        )

    def _measure(self, test: Test, key: str, true: float, spread: float, digits: int) -> None:
        """Read a gauge three times: relative spread, rounded to the gauge's digits."""
        instrument = self.trip.shop.instruments[INSTRUMENT_OF[key]]
        values = np.round(true * (1.0 + spread * self.rng.standard_normal(3)), digits)
        actions.add_measurement(
            by=self.by,
            test=test,
            reading_key=key,
            values=[float(value) for value in values],
            unit=instrument.unit,
            instrument=instrument,
            at=self.later(0.1),
        )


INSTRUMENT_OF = {
    "free_running_speed": "Optical tachometer",
    "chuck_extraction_force": "Pull gauge",
    "run_out": "Dial gauge",
}
STAGES = (
    (Stage.TESTED_AS_RECEIVED, _Telling.test_as_received),
    (Stage.TORN_DOWN, _Telling.open),
    (Stage.ESTIMATED, _Telling.explain_and_estimate),
    (Stage.AGREED, _Telling.hear_the_answer),
    (Stage.REBUILT, _Telling.rebuild),
    (Stage.PROVED, _Telling.prove),
    (Stage.HANDED_BACK, _Telling.open),
)
