"""The years of jobs in the invented shop, written by the same actions as a person's."""

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from django.db import transaction

from turnwell import catalogue
from turnwell.demo.card import write_card
from turnwell.demo.faults import fault_of
from turnwell.demo.offices import story_of
from turnwell.demo.shop import DemoShop, furnished_shop
from turnwell.demo.sterilizers import furnish_sterilizers
from turnwell.demo.trip import Trip, travel
from turnwell.demo.years import earlier_years
from turnwell.web.accounts.actions import add_person, create_owner_if_none
from turnwell.web.accounts.models import Role
from turnwell.web.handpieces.models import Handpiece
from turnwell.web.jobs.models import Stage

__all__ = ["fill"]

JOBS_IN_THE_YEAR = 44
DAYS = 350
RECORDED_SINCE_DAYS = 40
LONGEST_STAY_DAYS = 10
# Streams of chance of their own, so that each part stays as it is whatever the others do.
STERILIZERS, EARLIER = 1, 2
# What is tested again today was recorded before, so that it has a baseline of its own.
WITH_BASELINE = (Stage.REBUILT, Stage.PROVED)
# Where the jobs stand that are on the bench today, the day each came in, and its class.
ON_THE_BENCH = (
    (Stage.TAKEN_IN, 0.2, "air_turbine_4_hole"),
    (Stage.TAKEN_IN, 0.6, "low_speed_air_motor"),
    (Stage.TESTED_AS_RECEIVED, 1.1, "air_turbine_4_hole"),
    (Stage.TORN_DOWN, 2.2, "air_turbine_4_hole"),
    (Stage.TORN_DOWN, 2.6, "contra_angle_reducing"),
    (Stage.ESTIMATED, 4.0, "air_turbine_surgical"),
    (Stage.AGREED, 5.2, "air_turbine_4_hole"),
    (Stage.REBUILT, 6.3, "air_turbine_4_hole"),
    (Stage.PROVED, 7.1, "air_turbine_4_hole"),
    (Stage.NOT_WORTH_REPAIRING, 8.0, "low_speed_air_motor"),
)


@dataclass(frozen=True, slots=True)
class Stay:
    """One stay to be told: which handpiece, from when, how far it comes."""

    handpiece: Handpiece
    start: datetime
    until: Stage


def fill(*, seed: int, now: datetime) -> None:
    """Fill an empty book with the invented shop.

    Parameters
    ----------
    seed : int
        The same seed and time give the same shop.
    now : datetime
        The demo's present, aware; nothing is dated after it.

    Notes
    -----
    The book must be empty but for its owner; a second call refuses through the unique names.
    """
    rng = np.random.default_rng(seed)
    cat = catalogue.load()
    owner = create_owner_if_none()
    with transaction.atomic():
        shop = furnished_shop(owner, rng, now)
    for office in shop.offices:
        add_person(
            by=owner,
            username=office.name.split()[0].lower(),
            first_name="Front desk,",
            last_name=office.name,
            role=Role.OFFICE,
            office=office,
        )
    add_person(
        by=owner, username="technician", first_name="Wren", last_name="Ostby", role=Role.TECHNICIAN
    )
    earlier = np.random.default_rng((seed, EARLIER))
    with transaction.atomic():
        for card in earlier_years(shop, cat, earlier, now):
            write_card(card, shop, earlier)
    furnish_sterilizers(shop, np.random.default_rng((seed, STERILIZERS)), now)
    stays = _stays(shop, rng, now)
    baselined = {stay.handpiece.pk for stay in stays if stay.until in WITH_BASELINE}
    for stay in stays:
        trained = _is_trained(stay, now)
        trip = Trip(
            shop=shop,
            handpiece=stay.handpiece,
            fault=fault_of(stay.handpiece, cat, rng, trained=trained),
            start=stay.start,
            until=stay.until,
            is_recorded=stay.handpiece.pk in baselined
            or now - stay.start < timedelta(days=RECORDED_SINCE_DAYS),
        )
        with transaction.atomic():
            travel(trip, cat, rng, now)


def _stays(shop: DemoShop, rng: np.random.Generator, now: datetime) -> list[Stay]:
    """Draw the year's stays in order of time, those on the bench today last."""
    stays: list[Stay] = []
    pieces = [piece for piece in shop.handpieces if _is_told_in_full(piece)]
    for days_ago in np.sort(rng.uniform(20, DAYS, JOBS_IN_THE_YEAR))[::-1]:
        start = now - timedelta(days=float(days_ago))
        free = [piece for piece in pieces if _is_free(piece, start, stays)]
        weights = np.array([_weight(piece, float(days_ago)) for piece in free])
        piece = free[int(rng.choice(len(free), p=weights / weights.sum()))]
        stays.append(Stay(piece, start, Stage.HANDED_BACK))
    for until, days_ago, class_key in ON_THE_BENCH:
        start = now - timedelta(days=days_ago)
        free = [
            piece
            for piece in pieces
            if piece.class_key == class_key and _is_free(piece, start, stays)
        ]
        stays.append(Stay(free[int(rng.integers(len(free)))], start, until))
    return sorted(stays, key=lambda stay: stay.start)


def _is_told_in_full(piece: Handpiece) -> bool:
    return story_of(piece.office.name).is_told_in_full and piece.retired_on is None


def _is_free(piece: Handpiece, start: datetime, stays: list[Stay]) -> bool:
    """Say whether the handpiece is not at the bench around that time."""
    apart = timedelta(days=LONGEST_STAY_DAYS + 5)
    return all(stay.handpiece.pk != piece.pk or abs(stay.start - start) > apart for stay in stays)


def _weight(piece: Handpiece, days_ago: float) -> float:
    """How likely it is that this handpiece comes in: a bad habit more than doubles it."""
    story = story_of(piece.office.name)
    habit = 1.0 if story.is_trained(days_ago) else story.habit_returns
    return habit * (1.6 if "turbine" in piece.class_key else 0.8)


def _is_trained(stay: Stay, now: datetime) -> bool:
    return story_of(stay.handpiece.office.name).is_trained((now - stay.start) / timedelta(days=1))
