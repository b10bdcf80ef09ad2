"""Handpieces and jobs for the tests, brought to a stage by the real actions."""

from decimal import Decimal

from tests.people import theo_the_technician
from turnwell.web.handpieces.models import Handpiece, HandpieceModel
from turnwell.web.jobs import actions
from turnwell.web.jobs.models import Job, Stage, Test
from turnwell.web.offices.models import Office
from turnwell.web.shared.codes import new_code
from turnwell.web.shop.models import Instrument

__all__ = [
    "a_blank_test",
    "a_gauge",
    "a_handpiece",
    "a_job",
    "a_model",
    "bring_to",
    "measure_speed",
]

SET_UP = {
    "drive_pressure_kpa": 240.0,
    "pressure_gauge": None,
    "mounted": Test.Mounted.BLANK,
    "is_spray_on": False,
    "stand": "bench stand",
}


def a_model(name: str = "Model A", **fields: object) -> HandpieceModel:
    """Give a turbine model with its label."""
    return HandpieceModel.objects.create(
        name=name,
        **{
            "class_key": "air_turbine_4_hole",
            "label_speed_rpm": 400_000.0,
            "label_pressure_kpa": 240.0,
        }
        | fields,
    )


def a_handpiece(serial: str | None = None, **fields: object) -> Handpiece:
    """Give a turbine of the office at Birch Lane."""
    if serial is None:
        serial = f"T-{Handpiece.objects.count()}"
    office, _ = Office.objects.get_or_create(name="Birch Lane")
    return Handpiece.objects.create(
        **{
            "code": new_code("H"),
            "class_key": "air_turbine_4_hole",
            "serial": serial,
            "office": office,
        }
        | fields
    )


def a_gauge(**fields: object) -> Instrument:
    """Give an optical tachometer with its step and stated error."""
    return Instrument.objects.create(
        **{
            "name": "tachometer",
            "kind": Instrument.Kind.TACHOMETER,
            "unit": "rpm",
            "resolution": 100.0,
            "stated_error": 400.0,
        }
        | fields
    )


def a_job(handpiece: Handpiece | None = None, **fields: object) -> Job:
    """Give a job just taken in for a fault."""
    return actions.take_in(
        **{
            "by": theo_the_technician(),
            "handpiece": handpiece or a_handpiece(),
            "reason": Job.Reason.FAULT,
            "complaints": ["rattles_or_rough"],
            "complaint_words": "It growls.",
            "sterilized_by": Job.SterilizedBy.OFFICE,
        }
        | fields
    )


def a_blank_test(job: Job, when: Test.When = Test.When.AS_RECEIVED, **fields: object) -> Test:
    """Begin a test with a blank in the chuck."""
    by = fields.pop("by", None) or theo_the_technician()
    return actions.add_test(by=by, job=job, when=when, **SET_UP | fields)


def measure_speed(test: Test, *values: float) -> None:
    """Write down speeds of a test, in rpm."""
    actions.add_measurement(
        by=theo_the_technician(),
        test=test,
        reading_key="free_running_speed",
        values=values or (401_000.0, 400_000.0, 402_000.0),
        unit="rpm",
    )


def bring_to(job: Job, stage: Stage) -> Job:
    """Bring a job from where it is to a stage, on the usual way."""
    by = theo_the_technician()
    begin = WAY.index(job.stage) + 1 if job.stage in WAY else 0
    for step in WAY[begin : WAY.index(stage) + 1]:
        _prepare(job, step)
        actions.move_on(by=by, job=job, to=step)
    return job


WAY = [
    Stage.TESTED_AS_RECEIVED,
    Stage.TORN_DOWN,
    Stage.ESTIMATED,
    Stage.AGREED,
    Stage.REBUILT,
    Stage.PROVED,
    Stage.HANDED_BACK,
]


def _prepare(job: Job, step: Stage) -> None:
    by = theo_the_technician()
    if step == Stage.TESTED_AS_RECEIVED:
        measure_speed(a_blank_test(job), 340_000.0, 341_000.0, 342_000.0)
    elif step == Stage.ESTIMATED:
        actions.add_option(
            by=by,
            job=job,
            kind="cartridge",
            parts_price=Decimal("90.00"),
            labour_price=Decimal("45.00"),
        )
    elif step == Stage.AGREED:
        actions.answer_estimate(
            by=by, job=job, answer="agreed", option=job.options.last(), answered_by="Bea"
        )
    elif step == Stage.REBUILT:
        actions.use_part(by=by, job=job, name="cartridge")
    elif step == Stage.PROVED:
        measure_speed(a_blank_test(job, Test.When.FINAL))
