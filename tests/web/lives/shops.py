"""Shops whose figures can be told by hand; days are counted from 1 January 2024, noon to noon."""

from collections.abc import Iterable
from datetime import date, timedelta

from tests.people import theo_the_technician
from tests.web.lives.records.shop import a_stay, agree, settle, tool
from turnwell.web.handpieces.models import Handpiece
from turnwell.web.jobs.models import Job, OptionKind
from turnwell.web.offices.models import Office
from turnwell.web.visits.models import Visit

__all__ = ["back_after", "came_back", "on", "review_office", "trained", "two_offices"]

# From the first day, noon, to `NOW`.
LAST = 731


def on(number: int) -> date:
    return date(2024, 1, 1) + timedelta(days=number)


def came_back(
    office: str, days: Iterable[float], *, first: float = 0, **fields: object
) -> Handpiece:
    """Give a turbine handed back first on a day, and back for a day on each of some others."""
    one = tool(office, **fields)
    a_stay(one, first - 1, first)
    for day in days:
        a_stay(one, day, day + 1)
    return one


def back_after(
    days: Iterable[float], kind: str = OptionKind.BEARINGS, *, class_key: str = "air_turbine_4_hole"
) -> list[Handpiece]:
    """Give turbines repaired on the first day, each back after so many days and never again."""
    found = []
    for number in days:
        one = tool("Birch Lane", class_key=class_key)
        agree(a_stay(one, -1, 0), kind)
        agree(a_stay(one, number, number + 1), OptionKind.ADJUST)
        found.append(one)
    return found


def two_offices() -> tuple[Handpiece, Handpiece]:
    """Give one turbine at Birch Lane that came back twice, one at Cedar Row that did not.

    Birch Lane: observed from day 12; at risk 100, 100 and 515 days; 100 and 150 EUR were agreed to.
    Cedar Row: observed from day 3; at risk 728 days.
    """
    worn, sound = tool("Birch Lane", serial="W-1"), tool("Cedar Row", serial="S-1")
    a_stay(worn, 10, 12)
    for begin, price in ((112, 100), (214, 150)):
        back = a_stay(worn, begin, begin + 2)
        settle(back, "moisture_corrosion")
        agree(back, price=price)
    a_stay(sound, 1, 3)
    return worn, sound


def trained(office: str, day: int, why: str = "Care taught", *, training: bool = True) -> Visit:
    return Visit.objects.create(
        office=Office.objects.get(name=office),
        visited_on=on(day),
        why=why,
        was_training=training,
        entered_by=theo_the_technician(),
    )


def review_office(name: str = "Birch Lane") -> Office:
    return Office.objects.get(name=name)


def jobs_of(handpiece: Handpiece) -> list[Job]:
    return list(handpiece.jobs.order_by("taken_in_at"))
