"""Pages of sterilizers and their records: done, refused, wrong method, bad form."""

from datetime import timedelta

import pytest
from django.urls import reverse

from tests.people import theo_the_technician
from tests.web.sterilizers.builders import (
    FRIDAY,
    a_plan,
    a_record,
    a_sterilizer,
    week_after_week,
)
from turnwell.catalogue import load
from turnwell.steam import FaultKey
from turnwell.web.offices.models import Office
from turnwell.web.sterilizers import actions
from turnwell.web.sterilizers.models import (
    ClockSetting,
    Intake,
    Plan,
    Sterilizer,
)
from turnwell.words import Message, text_of

pytestmark = pytest.mark.django_db

TYPED = {"name": "2", "temperature_bound_k": "0,5", "pressure_bound_kpa": "2", "is_active": "on"}


def said(client, name, *args, **query) -> str:
    return client.get(reverse(name, args=args), query).content.decode()


def test_the_list_is_by_office_with_what_the_records_say(theo):
    sterilizer = a_sterilizer()
    for more in week_after_week(4, short_every=2):
        a_record(sterilizer, **more)
    page = said(theo, "sterilizers")
    assert "Birch Lane" in page
    assert "drying cut short in 2 of 4" in page


def test_the_empty_list_says_what_to_do(theo):
    Office.objects.create(name="Elm Row")
    page = said(theo, "sterilizers")
    assert "No sterilizer is in the book yet" in page
    assert "Add a sterilizer of Elm Row" in page


def test_an_office_sees_its_own_sterilizers_only(bea):
    own = a_sterilizer("Own one")
    other = a_sterilizer("Of others", office=Office.objects.create(name="Elm Row"))
    page = said(bea, "sterilizers")
    assert "Own one" in page
    assert "Of others" not in page
    assert bea.get(own.get_absolute_url()).status_code == 200
    assert bea.get(other.get_absolute_url()).status_code == 404
    assert bea.get(a_record(other).get_absolute_url()).status_code == 404


def test_an_office_is_shown_no_form_it_may_not_send(bea):
    record = a_record()
    for address in (record.sterilizer.get_absolute_url(), record.get_absolute_url()):
        page = bea.get(address).content.decode()
        # The one form of the frame is the search; signing out is a form too.
        assert "csrfmiddlewaretoken" not in page.split("<main")[1].split("</main>")[0]


OF_A_RECORD = "cycle-record cycle-record-load"
OF_A_STERILIZER = (
    "sterilizer sterilizer-edit sterilizer-clock plan-new layout cycle-records feed-water"
)


def test_every_page_says_that_nothing_is_released(theo):
    record = a_record()
    sterilizer = record.sterilizer
    begun = actions.begin_intake(by=theo_the_technician(), sterilizer=sterilizer)
    addresses = [reverse("sterilizers"), reverse("sterilizer-new", args=[sterilizer.office_id])]
    addresses += [reverse(name, args=[record.pk]) for name in OF_A_RECORD.split()]
    addresses += [reverse(name, args=[sterilizer.pk]) for name in OF_A_STERILIZER.split()]
    addresses += [reverse("plan", args=[a_plan(sterilizer).pk]), begun.get_absolute_url()]
    line = text_of("steam.releases_no_load").replace("'", "&#x27;")
    pages = {address: theo.get(address).content.decode() for address in addresses}
    assert [address for address, page in pages.items() if line not in page] == []


def test_a_sterilizer_is_added_with_its_cycle(theo):
    office = Office.objects.create(name="Elm Row")
    answer = theo.post(reverse("sterilizer-new", args=[office.pk]), TYPED)
    sterilizer = Sterilizer.objects.get()
    assert answer.url == reverse("plan-new", args=[sterilizer.pk])
    typed = {"name": "Wrapped", "set_c": "134", "hold_min": "3.5", "dry_min": "20"}
    theo.post(answer.url, typed | {"band_k": "4", "is_usual": "on"})
    plan = Plan.objects.get()
    assert (plan.set_c, plan.hold_s, plan.dry_s, plan.is_usual) == (134.0, 210.0, 1200.0, True)
    page = theo.get(sterilizer.get_absolute_url()).content.decode()
    assert "drying 20 min" in page


def test_a_cycle_of_the_catalogue_fills_what_is_left_empty_with_its_source(theo):
    sterilizer = a_sterilizer()
    typed = {"name": "Wrapped", "catalogue_key": "dynamic_134", "dry_min": "20"}
    theo.post(reverse("plan-new", args=[sterilizer.pk]), typed)
    plan, row = Plan.objects.get(), load().cycles["dynamic_134"]
    assert (plan.set_c, plan.band_k, plan.hold_s) == (row.set_c, row.band_k, row.hold_s)
    assert (plan.dry_s, plan.drying_pressure_kpa) == (1200.0, row.drying_pressure_kpa)
    assert plan.source == f"{load().source_text(row.source)}; some values as set"
    assert plan.basis == row.basis


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"name": ""}, "Fill this in"),
        ({"capacity_l": "-3"}, "out of range"),
        ({"temperature_bound_k": "nan"}, "is not a number"),
        ({"air_removal": "magic"}, "Select a valid choice"),
        ({"note": "a\x00b"}, "NUL"),
    ],
)
def test_a_bad_form_says_what_and_keeps_what_was_typed(theo, wrong, says):
    office = Office.objects.create(name="Elm Row")
    typed = TYPED | {"model_typed": "Type 7"} | wrong
    page = theo.post(reverse("sterilizer-new", args=[office.pk]), typed).content.decode()
    assert says in page
    assert "Type 7" in page
    assert not Sterilizer.objects.exists()


def test_details_are_changed_and_the_second_tab_is_told(theo):
    sterilizer = a_sterilizer()
    address = reverse("sterilizer-edit", args=[sterilizer.pk])
    seen = theo.get(address).context["seen"]
    assert theo.post(address, TYPED | {"name": "3", "seen": seen}).url
    page = theo.post(address, TYPED | {"name": "4", "seen": seen}).content.decode()
    assert "name is “3”" in page


def test_a_cycle_is_changed_and_removed(theo):
    plan = a_plan(a_sterilizer())
    address = reverse("plan", args=[plan.pk])
    seen = theo.get(address).context["seen"]
    theo.post(address, {"name": "Short", "dry_min": "12", "seen": seen})
    plan.refresh_from_db()
    assert (plan.name, plan.dry_s, plan.set_c) == ("Short", 720.0, None)
    record = a_record(plan.sterilizer, plan=plan)
    theo.post(reverse("plan-remove", args=[plan.pk]))
    record.refresh_from_db()
    assert record.plan is None
    assert record.review["cycle"]["name"] == "Wrapped 134"


def test_a_cycle_out_of_range_is_refused(theo):
    sterilizer = a_sterilizer()
    address = reverse("plan-new", args=[sterilizer.pk])
    page = theo.post(address, {"name": "Hot", "set_c": "160"}).content.decode()
    assert "out of range" in page
    assert not Plan.objects.exists()


def test_the_clock_is_set(theo):
    sterilizer = a_sterilizer()
    address = reverse("sterilizer-clock", args=[sterilizer.pk])
    typed = {"minutes": "62", "which": "behind", "from_day": "2026-05-01"}
    assert theo.post(address, typed).url == sterilizer.get_absolute_url()
    assert ClockSetting.objects.get().minutes_ahead == -62.0
    assert "behind, 62 min" in theo.get(address).content.decode()
    assert "Fill this in" in theo.post(address, {"which": "ahead"}).content.decode()


def test_the_sterilizer_page_says_first_what_matters(theo):
    sterilizer = a_sterilizer()
    for more in week_after_week(6, short_every=3):
        a_record(sterilizer, **more)
    page = theo.get(sterilizer.get_absolute_url()).content.decode()
    assert "2 of the 6 latest records show a fault" in page
    assert page.index("latest records show a fault") < page.index("<h2>Records</h2>")


def test_the_records_are_narrowed_and_paged(theo):
    sterilizer = a_sterilizer()
    for more in week_after_week(6, short_every=3):
        a_record(sterilizer, **more)
    a_record(sterilizer, number=20, faults=(FaultKey.SUPERHEAT,), began=None)
    rows = theo.get(reverse("cycle-records", args=[sterilizer.pk])).context["lines"]
    assert [line.record.started_at is None for line in rows] == [False] * 6 + [True]
    for which, count in (("short", 2), ("fault", 3), ("nonsense", 7)):
        answer = theo.get(reverse("cycle-records", args=[sterilizer.pk]), {"which": which})
        assert len(answer.context["lines"]) == count, which
    assert "Superheated steam" in answer.content.decode()


@pytest.mark.parametrize("key", FaultKey)
def test_the_gravest_fault_is_said_first_whatever_the_drying_did(theo, key):
    page = theo.get(a_record(faults=(key, FaultKey.RECORD_GAP)).get_absolute_url())
    said = page.context["page"].says
    if key is not FaultKey.DRYING_SHORTENED:
        assert said.startswith(text_of(Message(f"sterilizers.gravest.{key}", {"sure": ""})))
    assert said.endswith(
        "A record cannot show whether a pouch or the inside of a handpiece is still wet."
    )


def test_a_line_of_the_list_says_how_long_it_dried_and_the_verdict(theo):
    sterilizer = a_sterilizer()
    a_record(sterilizer, number=1, dried_s=708.0)
    a_record(sterilizer, number=2, dried_s=1200.0)
    a_record(sterilizer, number=3, dried_s=1200.0, planned_s=None)
    a_record(sterilizer, number=4, dried_s=None)
    page = said(theo, "cycle-records", sterilizer.pk)
    assert "drying 11.8 of 20.0 min" in page
    assert "drying 20.0 of 20.0 min" in page
    assert "drying 20.0 min" in page
    assert "no drying shown" in page
    assert ">within</span>" in page
    assert ">outside</span> drying cut short" in " ".join(page.split())


def test_a_line_keeps_the_time_that_was_set_when_it_ran(theo):
    plan = a_plan(a_sterilizer())
    a_record(plan.sterilizer, plan=plan, dried_s=1200.0)
    Plan.objects.filter(pk=plan.pk).update(dry_s=720.0)
    assert "drying 20.0 of 20.0 min" in said(theo, "cycle-records", plan.sterilizer_id)


def test_a_value_past_its_limit_is_said_in_short(theo):
    sterilizer = a_sterilizer()
    a_record(sterilizer, number=1, began=FRIDAY - timedelta(days=1))
    assert "outside its limit" not in theo.get(sterilizer.get_absolute_url()).content.decode()
    a_record(sterilizer, number=2, plateau_c=133.0)
    page = theo.get(sterilizer.get_absolute_url()).content.decode()
    assert "stands at 133.0 °C, outside its limit (134 to 138 °C)" in page


def test_a_cycle_that_says_nothing_is_refused(theo):
    sterilizer = a_sterilizer()
    page = theo.post(reverse("plan-new", args=[sterilizer.pk]), {"name": "Back", "is_usual": "on"})
    assert "Nothing is said of this cycle" in page.content.decode()
    assert not Plan.objects.exists()


def test_the_clock_begins_with_the_first_record_and_says_what_moved(theo):
    sterilizer = a_sterilizer()
    for more in week_after_week(3):
        a_record(sterilizer, **more)
    address = reverse("sterilizer-clock", args=[sterilizer.pk])
    assert 'value="2026-04-17"' in theo.get(address).content.decode()
    typed = {"minutes": "60", "which": "ahead"}
    for day, says in (
        ("2026-06-01", "no record moved"),
        ("2026-04-20", "2 records moved with it"),
    ):
        answer = theo.post(address, typed | {"from_day": day}, follow=True)
        assert says in answer.content.decode()


@pytest.mark.parametrize("name", ["sterilizers", "sterilizer", "cycle-records", "cycle-record"])
def test_reading_pages_refuse_to_be_posted_to(theo, name):
    record = a_record()
    args = {"sterilizers": [], "cycle-record": [record.pk]}.get(name, [record.sterilizer_id])
    assert theo.post(reverse(name, args=args)).status_code == 405


@pytest.mark.parametrize(
    "name",
    [
        "cycle-files",
        "intake-files",
        "plan-remove",
        "cycle-record-plan",
        "cycle-record-again",
        "cycle-record-take-back",
    ],
)
def test_writing_addresses_refuse_to_be_read(theo, name):
    record = a_record()
    of = {
        "cycle-files": record.sterilizer_id,
        "intake-files": Intake.objects.create(
            sterilizer=record.sterilizer, begun_by=theo_the_technician()
        ).pk,
        "plan-remove": a_plan(record.sterilizer).pk,
    }
    assert theo.get(reverse(name, args=[of.get(name, record.pk)])).status_code == 405


def test_pages_need_no_more_queries_with_more_records(theo, django_assert_max_num_queries):
    sterilizer = a_sterilizer()
    for more in week_after_week(14):
        a_record(sterilizer, **more)
    with django_assert_max_num_queries(20):
        theo.get(sterilizer.get_absolute_url())
    with django_assert_max_num_queries(10):
        theo.get(reverse("cycle-records", args=[sterilizer.pk]))
    with django_assert_max_num_queries(6):
        theo.get(reverse("sterilizers"))


def test_the_office_page_names_its_sterilizers(theo):
    sterilizer = a_sterilizer("Left")
    page = theo.get(reverse("office", args=[sterilizer.office_id])).content.decode()
    assert sterilizer.get_absolute_url() in page
