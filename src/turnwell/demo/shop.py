"""The invented shop before its year of jobs: people, instruments, offices, models, handpieces."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal

import numpy as np

from turnwell.web.accounts.models import User
from turnwell.web.handpieces.actions import (
    HandpieceDetails,
    ModelDetails,
    add_handpiece,
    add_model,
)
from turnwell.web.handpieces.models import Handpiece, HandpieceModel, Lubricated
from turnwell.web.offices.actions import OfficeDetails, add_chair, add_office
from turnwell.web.offices.models import Chair, Office
from turnwell.web.shared.codes import new_code
from turnwell.web.shop.actions import (
    InstrumentDetails,
    ShopDetails,
    add_instrument,
    check_instrument,
    save_shop,
)
from turnwell.web.shop.models import (
    Instrument,
    LengthUnit,
    PaperSize,
    PressureUnit,
    TaxRounding,
    TemperatureUnit,
)
from turnwell.web.visits.actions import VisitDetails, add_visit

__all__ = ["DemoShop", "furnished_shop", "trained_days_ago"]

MODELS = (
    ModelDetails(
        "Turbine A, push button",
        "air_turbine_4_hole",
        label_speed_rpm=400_000.0,
        label_pressure_kpa=221.0,
        bearing_balls=8,
        bearing_ball_mm=1.0,
        bearing_pitch_mm=4.7625,
        bearing_contact_deg=0.0,
        lubricated=Lubricated.YES,
        lubricant_place="drive-air hole, the second largest",
        oil_when=HandpieceModel.OilWhen.BEFORE,
    ),
    ModelDetails(
        "Turbine B, small head",
        "air_turbine_4_hole",
        label_speed_rpm=420_000.0,
        label_pressure_kpa=241.0,
        lubricated=Lubricated.NOT_KNOWN,
    ),
    ModelDetails(
        "Turbine S, rear exhaust",
        "air_turbine_surgical",
        label_speed_rpm=360_000.0,
        label_pressure_kpa=276.0,
        lubricated=Lubricated.YES,
        lubricant_place="drive-air hole",
        has_light=False,
    ),
    ModelDetails(
        "Air motor M",
        "low_speed_air_motor",
        label_speed_rpm=20_000.0,
        label_pressure_kpa=276.0,
        lubricated=Lubricated.NEVER,
        has_spray=False,
        has_light=False,
    ),
    ModelDetails(
        "Reducer R, 8:1",
        "contra_angle_reducing",
        label_speed_rpm=2_500.0,
        motor_turns_per_bur_turn=8.0,
        lubricated=Lubricated.YES,
        lubricant_place="nozzle at the coupling end",
        has_spray=False,
        has_light=False,
    ),
    ModelDetails(
        "Nose cone N",
        "straight_attachment",
        lubricated=Lubricated.NEVER,
        motor_turns_per_bur_turn=1.0,
        has_spray=False,
        has_light=False,
    ),
)
SETTINGS = ShopDetails(
    name="The Bench at Weir Lane",
    address="4 Weir Lane",
    phone="",
    email="",
    time_zone="America/Denver",
    pressure_unit=PressureUnit.KPA,
    temperature_unit=TemperatureUnit.CELSIUS,
    length_unit=LengthUnit.MILLIMETRE,
    paper_size=PaperSize.A4,
    currency="USD",
    tax_name="Sales tax",
    tax_percent=Decimal("4.5"),
    tax_rounding=TaxRounding.TOTAL,
)
# Office, time zone, altitude in metres, chairs, and how many of each model (as in MODELS).
OFFICES = (
    ("Tolvane Dental", "America/Denver", 1609.0, 4, (5, 2, 1, 2, 1, 1)),
    ("Brisel Dental", "America/Chicago", 181.0, 3, (3, 2, 0, 2, 1, 1)),
    ("Ondrum Dental", "America/Chicago", 190.0, 2, (2, 2, 1, 2, 1, 1)),
)
# Name, kind, unit, smallest step, stated error.
INSTRUMENTS = (
    ("Bench microphone", Instrument.Kind.MICROPHONE, "", None, None),
    ("Optical tachometer", Instrument.Kind.TACHOMETER, "rpm", 10.0, 200.0),
    ("Gauge at the handpiece", Instrument.Kind.PRESSURE_GAUGE, "kPa", 2.0, 4.0),
    ("Dial gauge", Instrument.Kind.DIAL_GAUGE, "mm", 0.001, 0.002),
    ("Pull gauge", Instrument.Kind.FORCE_GAUGE, "N", 0.1, 0.3),
    ("Spray cylinder and watch", Instrument.Kind.FLOW_METER, "mL/min", 1.0, 2.0),
)
VISITS = (
    (0, 250, "Six handpieces back in two months", False),
    (0, 120, "Drying cut short, pouches damp; whole team taught", True),
    (1, 200, "First call: care routine watched", False),
    (1, 45, "Oil and purge taught at the sink", True),
    (2, 160, "Yearly call", False),
)


def trained_days_ago(office: Office) -> int | None:
    """Give how many days before the demo's present an office was taught; None where it was not."""
    days = [
        days
        for index, days, _, was_training in VISITS
        if was_training and OFFICES[index][0] == office.name
    ]
    return days[0] if days else None


@dataclass(frozen=True, slots=True)
class DemoShop:
    """What the year of jobs works with."""

    technician: User
    offices: tuple[Office, ...]
    handpieces: tuple[Handpiece, ...]
    instruments: dict[str, Instrument]


def furnished_shop(owner: User, rng: np.random.Generator, now: datetime) -> DemoShop:
    """Furnish the shop: instruments, offices with chairs, models, handpieces, visits.

    Parameters
    ----------
    owner : User
        Who writes it all down.
    rng : numpy.random.Generator
        Source of all chance.
    now : datetime
        The demo's present.
    """
    save_shop(by=owner, details=SETTINGS)
    instruments = {row[0]: _instrument(owner, row, rng, now) for row in INSTRUMENTS}
    models = [add_model(by=owner, details=details) for details in MODELS]
    offices, handpieces = [], []
    for name, zone, altitude, chairs, counts in OFFICES:
        told = OfficeDetails(
            name, time_zone=zone, altitude_m=altitude, contact="Front desk", address="Example Road"
        )
        office = add_office(by=owner, details=told)
        rooms = [add_chair(by=owner, office=office, name=str(n + 1)) for n in range(chairs)]
        for model, count in zip(models, counts, strict=True):
            for _ in range(count):
                chair = rooms[int(rng.integers(chairs))]
                details = _details(model, chair, rng, now)
                code = new_code("H", int(rng.integers(32**5)))
                at = now - timedelta(days=365)
                handpieces.append(add_handpiece(by=owner, details=details, at=at, code=code))
        offices.append(office)
    for index, days, why, was_training in VISITS:
        day = now - timedelta(days=days)
        call = VisitDetails(day.date(), why, was_training=was_training)
        add_visit(by=owner, office=offices[index], details=call, at=day)
    return DemoShop(owner, tuple(offices), tuple(handpieces), instruments)


def _instrument(
    owner: User,
    row: tuple[str, Instrument.Kind, str, float | None, float | None],
    rng: np.random.Generator,
    now: datetime,
) -> Instrument:
    """Put an instrument on the bench, checked within the last year; the oldest check is overdue."""
    name, kind, unit, step, error = row
    details = InstrumentDetails(name, kind, unit=unit, resolution=step, stated_error=error)
    instrument = add_instrument(by=owner, details=details)
    days = 390 if kind is Instrument.Kind.DIAL_GAUGE else int(rng.integers(30, 300))
    at = now - timedelta(days=days)
    check_instrument(
        by=owner,
        instrument=instrument,
        checked_on=at.date(),
        due_on=at.date() + timedelta(days=365),
        note="against the shop's own standard",
        at=at,
    )
    return instrument


def _details(
    model: HandpieceModel, chair: Chair, rng: np.random.Generator, now: datetime
) -> HandpieceDetails:
    age_days = int(rng.integers(420, 1500))
    return HandpieceDetails(
        class_key=model.class_key,
        office=chair.office,
        model=model,
        serial=f"{chr(65 + int(rng.integers(6)))}{int(rng.integers(10_000, 99_999))}",
        chair=chair,
        in_service_since=(now - timedelta(days=age_days)).date(),
        known_cycles=int(age_days * rng.uniform(0.7, 1.6)),
        known_cycles_on=(now - timedelta(days=370)).date(),
    )
