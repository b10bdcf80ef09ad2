"""The invented shop before its years of jobs: people, instruments, offices, models, handpieces."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal

import numpy as np

from turnwell.demo.offices import OFFICES, OPENED_DAYS_AGO, OfficeStory, story_of
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
from turnwell.web.shared.times import today_in_zone
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
# Name, kind, unit, smallest step, stated error.
INSTRUMENTS = (
    ("Bench microphone", Instrument.Kind.MICROPHONE, "", None, None),
    ("Optical tachometer", Instrument.Kind.TACHOMETER, "rpm", 10.0, 200.0),
    ("Gauge at the handpiece", Instrument.Kind.PRESSURE_GAUGE, "kPa", 2.0, 4.0),
    ("Dial gauge", Instrument.Kind.DIAL_GAUGE, "mm", 0.001, 0.002),
    ("Pull gauge", Instrument.Kind.FORCE_GAUGE, "N", 0.1, 0.3),
    ("Spray cylinder and watch", Instrument.Kind.FLOW_METER, "mL/min", 1.0, 2.0),
)
# Share of handpieces whose care cycles somebody counts, and cycles a day.
COUNTED_SHARE = 0.75
CYCLES_A_DAY = (0.7, 1.6)


def trained_days_ago(office: Office) -> int | None:
    """Give how many days before the demo's present an office was taught; None where it was not."""
    return story_of(office.name).trained_days_ago


@dataclass(frozen=True, slots=True)
class DemoShop:
    """What the years of jobs work with.

    Parameters
    ----------
    cycles_a_day : dict of handpiece key to float
        How often each truly goes through the sterilizer.
    """

    technician: User
    offices: tuple[Office, ...]
    handpieces: tuple[Handpiece, ...]
    instruments: dict[str, Instrument]
    cycles_a_day: dict[int, float]

    def cycles_at(self, handpiece: Handpiece, at: datetime) -> int | None:
        """Give the count of care cycles at a moment; None where nobody counts."""
        if handpiece.known_cycles is None or handpiece.known_cycles_on is None:
            return None
        days = (today_in_zone(handpiece.office.time_zone, at) - handpiece.known_cycles_on).days
        return handpiece.known_cycles + round(max(days, 0) * self.cycles_a_day[handpiece.pk])


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
    offices, handpieces, paces = [], [], {}
    for story in OFFICES:
        office, chairs = _office(owner, story)
        for model, count in zip(models, story.models, strict=True):
            for _ in range(count):
                pace = float(rng.uniform(*CYCLES_A_DAY))
                details = _details(model, chairs[int(rng.integers(len(chairs)))], pace, rng, now)
                code = new_code("H", int(rng.integers(32**5)))
                piece = add_handpiece(by=owner, details=details, at=now, code=code)
                handpieces.append(piece)
                paces[piece.pk] = pace
        for call in story.calls:
            day = now - timedelta(days=call.days_ago)
            on = today_in_zone(story.time_zone, day)
            told = VisitDetails(on, call.why, was_training=call.was_training)
            add_visit(by=owner, office=office, details=told, at=day)
        offices.append(office)
    return DemoShop(owner, tuple(offices), tuple(handpieces), instruments, paces)


def _office(owner: User, story: OfficeStory) -> tuple[Office, list[Chair]]:
    told = OfficeDetails(
        story.name,
        time_zone=story.time_zone,
        altitude_m=story.altitude_m,
        contact="Front desk",
        address="Example Road",
        is_active=not story.left_days_ago,
    )
    office = add_office(by=owner, details=told)
    chairs = [add_chair(by=owner, office=office, name=str(n + 1)) for n in range(story.chairs)]
    return office, chairs


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
    checked_on = today_in_zone(SETTINGS.time_zone, at)
    check_instrument(
        by=owner,
        instrument=instrument,
        checked_on=checked_on,
        due_on=checked_on + timedelta(days=365),
        note="against the shop's own standard",
        at=at,
    )
    return instrument


def _details(
    model: HandpieceModel, chair: Chair, pace: float, rng: np.random.Generator, now: datetime
) -> HandpieceDetails:
    """Draw a handpiece: bought before the book was opened or since, counted or not.

    A count was made when the book was opened, or begins with the handpiece. What nobody counted
    becomes known by its first stay.
    """
    age_days = int(rng.integers(420, 2600))
    counted_days = min(age_days, OPENED_DAYS_AGO)
    is_counted = rng.random() < COUNTED_SHARE
    today = today_in_zone(chair.office.time_zone, now)
    counted_on = today - timedelta(days=counted_days)
    return HandpieceDetails(
        class_key=model.class_key,
        office=chair.office,
        model=model,
        serial=f"{chr(65 + int(rng.integers(6)))}{int(rng.integers(10_000, 99_999))}",
        chair=chair,
        in_service_since=today - timedelta(days=age_days),
        known_cycles=round((age_days - counted_days) * pace) if is_counted else None,
        known_cycles_on=counted_on if is_counted else None,
    )
