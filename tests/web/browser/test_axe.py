"""Every main page against axe-core's rules, at the width of a phone and of a laptop.

axe finds a part of what can be wrong: names, roles, contrast, structure. Targets' size and the
reach of the keyboard are checked here too.

References
----------
Rules: axe-core, tags WCAG 2.0 to 2.2 A and AA and best practice. Size of targets: our own 44 px; a
link within a sentence is exempt, as in WCAG 2.2, success criterion 2.5.8.
"""

import re

import pytest
from axe_playwright_python.sync_playwright import Axe, AxeResults

from tests.people import theo_the_technician
from tests.web.browser.conftest import Opener
from tests.web.jobs.builders import a_blank_test, a_gauge, a_job
from tests.web.jobs.pairs import STEADY, pairs
from tests.web.lives.records.shop import agree, settle
from tests.web.lives.shops import back_after, came_back, trained
from tests.web.sterilizers.builders import a_record, week_after_week
from tests.web.sterilizers.test_layouts import PROPOSAL
from tests.web.test_who_may import World
from turnwell.web.accounts.actions import make_sign_in_link
from turnwell.web.shop.models import Instrument
from turnwell.web.sterilizers.models import IntakeFile

pytestmark = pytest.mark.django_db(transaction=True)
WIDTHS = (360, 1440)
# Role, and the page; {name} is filled from the `World`.
PAGES = [
    ("anonymous", "/sign-in/"),
    ("anonymous", "/sign-in/{link}/"),
    ("owner", "/own-password/"),
    ("owner", "/people/"),
    ("owner", "/people/new/"),
    ("owner", "/people/{person}/"),
    ("owner", "/shop/"),
    ("owner", "/shop/edit/"),
    ("technician", "/shop/instruments/"),
    ("technician", "/shop/instruments/{instrument}/"),
    ("technician", "/shop/instruments/{microphone}/"),
    ("technician", "/"),
    ("technician", "/search/?q=T-0"),
    ("technician", "/offices/"),
    ("technician", "/offices/{office}/"),
    ("technician", "/offices/{office}/visits/new/"),
    ("technician", "/offices/{office}/review/"),
    ("technician", "/offices/{office}/review/returns/"),
    ("technician", "/offices/{office}/review/causes/"),
    ("technician", "/round/"),
    ("technician", "/round/air_turbine_4_hole/bearings/"),
    ("technician", "/handpieces/"),
    ("technician", "/handpieces/new/"),
    ("technician", "/handpieces/{handpiece}/"),
    ("technician", "/models/"),
    ("technician", "/models/{model}/"),
    ("technician", "/catalogue/"),
    ("technician", "/catalogue/air_turbine_4_hole/"),
    ("technician", "/catalogue/causes/"),
    ("technician", "/jobs/new/"),
    ("technician", "/jobs/{job}/"),
    ("technician", "/jobs/{job}/findings/"),
    ("technician", "/jobs/{job}/tests/final/new/"),
    ("technician", "/jobs/{job}/options/new/"),
    ("technician", "/jobs/{job}/worth/bearings/"),
    ("technician", "/jobs/{job}/cause/"),
    ("technician", "/jobs/{job}/tests/{test}/record/"),
    ("technician", "/jobs/{job}/recordings/{recording}/"),
    ("technician", "/sterilizers/"),
    ("technician", "/sterilizers/{sterilizer}/"),
    ("technician", "/sterilizers/{sterilizer}/edit/"),
    ("technician", "/sterilizers/{sterilizer}/cycles/new/"),
    ("technician", "/sterilizers/{sterilizer}/clock/"),
    ("technician", "/sterilizers/{sterilizer}/records/"),
    ("technician", "/sterilizers/{sterilizer}/water/"),
    ("technician", "/sterilizers/{sterilizer}/columns/"),
    ("technician", "/sterilizers/records/{cycle_record}/"),
    ("technician", "/sterilizers/records/{cycle_record}/load/"),
    ("technician", "/sterilizers/intakes/{intake}/"),
    ("technician", "/nowhere/"),
    ("office", "/"),
    ("office", "/jobs/{job}/"),
    ("office", "/jobs/{job}/answer/"),
    ("office", "/offices/{office}/review/"),
    ("office", "/offices/{office}/review/returns/"),
    ("office", "/sterilizers/{sterilizer}/"),
    ("office", "/sterilizers/records/{cycle_record}/"),
    ("office", "/shop/"),
]
# Links in running text and what is out of sight until it is focused are let off.
SMALL_TARGETS = """() => [...document.querySelectorAll('a, button, input, select, summary')]
  .filter(one => !one.matches('p a, li > a.wordlink, [type=hidden], .skip, .note a, dd a, td a'))
  .filter(one => one.checkVisibility() && !one.closest('svg'))
  .map(one => [one.matches('[type=checkbox], [type=radio]') ? one.closest('label') : one, one])
  .filter(([area]) => area === null || Math.ceil(area.getBoundingClientRect().height) < 44)
  .map(([, one]) => one.outerHTML.slice(0, 120))"""


def _faults(found: AxeResults) -> list[str]:
    return [
        f"{fault['id']}: {node['html'][:150]} {node['failureSummary'][:150]}"
        for fault in found.response["violations"]
        for node in fault["nodes"]
    ]


def lives_of_two_years() -> None:
    """Let turbines of three offices come back, some with causes and prices, around a training."""
    back_after([400, 420, 440, 460, 480, 500])
    for number in range(6):
        back = came_back("Birch Lane", [450 + number, 520 + number, 640 + number])
        came_back(("Cedar Row", "Elm Row")[number % 2], [480 + 20 * number])
        for job in back.jobs.order_by("taken_in_at")[1:3]:
            settle(job, "moisture_corrosion")
            agree(job, warranty_months=36)
    trained("Birch Lane", 600)


@pytest.fixture
def places() -> dict[str, object]:
    world = World()
    for number, more in enumerate(week_after_week(8, short_every=2)):
        a_record(world.sterilizer, **more | {"number": number})
    IntakeFile.objects.create(
        intake=world.intake,
        name="run.csv",
        file=world.cycle_record.file,
        state="asks",
        says="Which column is the pressure?",
        proposal=PROPOSAL,
    )
    lives_of_two_years()
    microphone = Instrument.objects.create(name="Phone", kind="microphone")
    pairs(a_blank_test(a_job(), microphone=microphone), a_gauge(), (*STEADY, 4_000))
    return {
        "microphone": microphone.pk,
        "recording": world.recording.pk,
        "link": make_sign_in_link(theo_the_technician()),
        "person": theo_the_technician().pk,
        "instrument": world.instrument.pk,
        "office": world.office.pk,
        "handpiece": world.handpiece.code,
        "model": world.model.pk,
        "job": world.job.code,
        "test": world.test.pk,
        "sterilizer": world.sterilizer.pk,
        "cycle_record": world.cycle_record.pk,
        "intake": world.intake.pk,
    }


@pytest.mark.slow
@pytest.mark.parametrize("width", WIDTHS)
def test_every_main_page_is_accessible(
    open_page: Opener, places: dict[str, object], width: int, subtests: pytest.Subtests
) -> None:
    pages = {role: open_page(role, "/", width=width) for role in dict(PAGES)}
    for role, address in PAGES:
        with subtests.test(role=role, address=address):
            page = pages[role]
            page.goto(address.format(**places))
            found = Axe().run(page)
            assert _faults(found) == []
            assert page.evaluate("document.documentElement.scrollWidth") <= width
            assert page.evaluate(SMALL_TARGETS) == []


def test_axe_sees_a_seeded_fault(open_page: Opener) -> None:
    page = open_page("anonymous", "/sign-in/")
    page.evaluate("document.querySelector('label').remove()")
    assert any(fault.startswith("label:") for fault in _faults(Axe().run(page)))


def test_the_keyboard_reaches_the_page_and_its_fields(open_page: Opener) -> None:
    page = open_page("owner", "/shop/edit/")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Skip to the page"
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "main"
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.name") == "name"
    page.keyboard.press("Enter")
    page.wait_for_url(re.compile(r"/shop/(#main)?$"))
