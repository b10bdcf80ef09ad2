"""Forms done from the page: take-in, set-up, measuring, findings, causes, estimate, corrections."""

from datetime import date, timedelta
from decimal import Decimal
from io import BytesIO

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from PIL import Image

from tests.people import bea_of_birch_lane, theo_the_technician
from tests.web.jobs.builders import (
    a_blank_test,
    a_gauge,
    a_handpiece,
    a_job,
    a_model,
    bring_to,
    measure_speed,
)
from turnwell.web.jobs import actions
from turnwell.web.jobs.models import EstimateAnswer, Finding, Job, Measurement, Stage, Test
from turnwell.web.jobs.set_ups import set_up_differences
from turnwell.web.shared.times import today_in_zone
from turnwell.web.shop.models import InstrumentCheck, Shop

pytestmark = pytest.mark.django_db

TAKE_IN = {
    "sterilized_by": "office",
    "reason": "fault",
    "complaints": ["rattles_or_rough"],
    "complaint_words": "It's <loud>",
}


@pytest.fixture
def theo(client: Client) -> Client:
    client.force_login(theo_the_technician())
    return client


def address(name: str, job: Job, *more: object) -> str:
    return reverse(name, args=[job.code, *more])


def latest(job: Job) -> int:
    job.refresh_from_db()
    return job.version


# Taking in


@pytest.mark.parametrize("typed", ["code", "spoken code", "serial", "begin of serial", "job"])
def test_a_handpiece_is_found_by_what_is_on_it(theo: Client, typed: str) -> None:
    handpiece = a_handpiece("AB 12-345")
    job = bring_to(a_job(handpiece), Stage.HANDED_BACK)
    said = {
        "code": handpiece.code,
        "spoken code": f"{handpiece.code[0].lower()} {handpiece.code[1:]}",
        "serial": "ab12-345",
        "begin of serial": "AB 12",
        "job": job.code,
    }[typed]
    answer = theo.get(reverse("take-in"), {"q": said})

    assert answer.status_code == 302
    assert answer.headers["Location"].endswith(f"?handpiece={handpiece.code}")


def test_several_of_a_serial_are_offered_and_nothing_is_said_plainly(theo: Client) -> None:
    a_handpiece("X1")
    a_handpiece("X2")
    page = theo.get(reverse("take-in"), {"q": "x"}).content.decode()
    assert "X1" in page
    assert "X2" in page

    page = theo.get(reverse("take-in"), {"q": "<nothing>"}).content.decode()
    assert "Nothing is on file under “&lt;nothing&gt;”" in page
    assert theo.get(reverse("take-in"), {"q": "a\x00b"}).status_code == 400
    assert theo.get(reverse("take-in"), {"q": "x" * 81}).status_code == 400


def test_a_new_handpiece_comes_back_to_be_taken_in(theo: Client) -> None:
    page = theo.get(reverse("take-in"), {"q": "New 1&2"}).content.decode()
    link = f"{reverse('handpiece-new')}?then=job&amp;serial=New%201%262"
    assert link in page
    typed = {
        "then": "job",
        "class_key": "air_turbine_4_hole",
        "serial": "New 1",
        "office": a_handpiece().office_id,
    }
    answer = theo.post(reverse("handpiece-new"), typed)
    assert answer.status_code == 302, answer.content.decode()
    assert answer.headers["Location"].startswith(f"{reverse('take-in')}?handpiece=H")


@pytest.mark.parametrize(("days", "is_filled"), [(0, True), (30, False)])
def test_a_count_just_made_is_filled_in(theo: Client, days: int, is_filled: bool) -> None:
    counted_on = today_in_zone("UTC") - timedelta(days=days)
    handpiece = a_handpiece(known_cycles=740, known_cycles_on=counted_on)
    page = theo.get(reverse("take-in"), {"handpiece": handpiece.code})

    field = str(page.context["form"]["known_cycles"])
    assert ('value="740"' in field) is is_filled


def test_taking_in_from_the_page(theo: Client) -> None:
    handpiece = a_handpiece()
    answer = theo.post(f"{reverse('take-in')}?handpiece={handpiece.code}", TAKE_IN)

    job = Job.objects.get()
    assert answer.headers["Location"] == job.get_absolute_url()
    assert (job.handpiece, job.complaints) == (handpiece, ["rattles_or_rough"])


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"sterilized_by": "not_yet"}, "contaminated until sterilized"),
        ({"sterilized_by": ""}, "Fill this in"),
        ({"sterilized_by": "here"}, "Write the number of the load"),
        ({"complaints": [], "complaint_words": ""}, "A fault needs"),
        ({"complaints": ["gremlins"]}, "gremlins"),
        ({"known_cycles": "-3"}, "out of range"),
        ({"known_cycles": "many"}, "not a number"),
        ({"complaint_words": "a\x00b"}, "cannot be stored"),
    ],
)
def test_a_refused_taking_in_keeps_what_was_typed(
    theo: Client, typed: dict[str, object], said: str
) -> None:
    handpiece = a_handpiece()
    where = f"{reverse('take-in')}?handpiece={handpiece.code}"
    answer = theo.post(where, TAKE_IN | {"sterilizer_load": "", "known_cycles": ""} | typed)

    page = answer.content.decode()
    assert answer.status_code == 400
    assert said in page
    assert not Job.objects.exists()
    if "complaint_words" not in typed:
        assert "It&#x27;s &lt;loud&gt;" in page


def test_a_handpiece_that_is_here_leads_to_its_job(theo: Client) -> None:
    job = a_job()
    where = f"{reverse('take-in')}?handpiece={job.handpiece.code}"

    assert job.get_absolute_url() in theo.get(where).content.decode()
    theo.post(where, TAKE_IN)
    assert Job.objects.count() == 1


# Testing


def test_a_set_up_is_typed_in_the_shop_s_unit(theo: Client) -> None:
    Shop.objects.create(pk=1, pressure_unit="psi")
    job = a_job()
    typed = {
        "version": 1,
        "mounted": "blank",
        "drive_pressure_kpa": "35",
        "drive_pressure_kpa_unit": "psi",
        "is_spray_on": "off",
    }
    assert theo.post(address("test-new", job, "as_received"), typed).status_code == 302
    # NIST SP 811 (2008), B.8: 35 psi is 241.3 kPa.
    assert Test.objects.get().drive_pressure_kpa == pytest.approx(241.3, abs=0.05)


def test_35_bar_is_asked_about(theo: Client) -> None:
    job = a_job()
    typed = {
        "version": 1,
        "mounted": "blank",
        "drive_pressure_kpa": "35",
        "drive_pressure_kpa_unit": "bar",
        "is_spray_on": "off",
    }
    answer = theo.post(address("test-new", job, "as_received"), typed)

    assert answer.status_code == 400
    assert "did you mean 35 psi?" in answer.content.decode()
    assert not Test.objects.exists()


def test_the_final_set_up_starts_from_that_of_the_test_as_received(theo: Client) -> None:
    job = bring_to(a_job(), Stage.REBUILT)
    page = theo.get(address("test-new", job, "final")).content.decode()

    assert 'value="bench stand"' in page
    assert 'value="240"' in page


@pytest.mark.parametrize(
    ("typed", "is_warned"), [("221", False), ("226", False), ("241", True), ("", False)]
)
def test_a_set_up_away_from_the_label_says_so(theo: Client, typed: str, is_warned: bool) -> None:
    job = a_job(a_handpiece(model=a_model(label_pressure_kpa=221.0)))
    where = address("test-new", job, "as_received")
    assert "Label: 221 kPa." in theo.get(where).content.decode()

    fields = {
        "version": 1,
        "mounted": "blank",
        "drive_pressure_kpa": typed,
        "drive_pressure_kpa_unit": "kPa",
        "is_spray_on": "off",
    }
    answer = theo.post(where, fields, follow=True)
    assert ("#" in answer.redirect_chain[0][0]) is not is_warned
    page = answer.content.decode()
    assert "Set-up saved." in page
    assert ("Set 241 kPa; the label says 221 kPa" in page) is is_warned
    assert ("will be not proven" in page) is is_warned


def test_a_corrected_set_up_is_held_against_the_label_in_the_shop_s_unit(theo: Client) -> None:
    Shop.objects.create(pk=1, pressure_unit="psi")
    # NIST SP 811 (2008), B.8: 1 psi is 6.894757 kPa, so 32 psi are 220.63 kPa.
    job = a_job(a_handpiece(model=a_model(label_pressure_kpa=220.63)))
    test = a_blank_test(job, drive_pressure_kpa=220.63)
    fields = {
        "version": latest(job),
        "mounted": "blank",
        "drive_pressure_kpa": "35",
        "drive_pressure_kpa_unit": "psi",
        "is_spray_on": "off",
        "reason": "misread",
    }
    page = theo.post(address("correct", job, "test", test.pk), fields, follow=True)
    assert "Set 35 psi; the label says 32 psi" in page.content.decode()


def test_a_class_without_drive_air_shows_no_label_pressure(theo: Client) -> None:
    model = a_model(class_key="electric_motor", label_pressure_kpa=221.0)
    job = a_job(a_handpiece(class_key="electric_motor", model=model))

    assert "Label:" not in theo.get(address("test-new", job, "as_received")).content.decode()


@pytest.mark.parametrize(("unit", "shown"), [("kPa", "241.3"), ("psi", "35"), ("bar", "2.413")])
def test_a_prefilled_pressure_has_four_figures_and_stays_the_same_set_up(
    theo: Client, unit: str, shown: str
) -> None:
    # NIST SP 811 (2008), B.8: 1 psi is 6.894757 kPa, so 35 psi are 241.316 kPa.
    Shop.objects.create(pk=1, pressure_unit=unit)
    job = a_job()
    before = a_blank_test(job, drive_pressure_kpa=241.316505)
    measure_speed(before)
    actions.move_on(by=theo_the_technician(), job=job, to=Stage.TESTED_AS_RECEIVED)
    bring_to(job, Stage.REBUILT)
    form = theo.get(address("test-new", job, "final")).context["form"]
    assert form["drive_pressure_kpa"].value() == 241.316505
    assert f'value="{shown}"' in str(form["drive_pressure_kpa"])

    typed = {
        "version": latest(job),
        "mounted": before.mounted,
        "drive_pressure_kpa": shown,
        "drive_pressure_kpa_unit": unit,
        "is_spray_on": "off",
        "stand": before.stand,
    }
    assert theo.post(address("test-new", job, "final"), typed).status_code == 302
    assert set_up_differences(before, Test.objects.get(when="final")) == ()


def test_a_left_out_test_gives_its_reason(theo: Client) -> None:
    job = a_job()
    typed = {"version": 1, "because": "seized"}
    assert theo.post(address("test-leave-out", job, "as_received"), typed).status_code == 302
    assert "Left out: seized" in theo.get(job.get_absolute_url()).content.decode()
    assert theo.get(address("test-leave-out", job, "sometime")).status_code == 404


def test_values_are_measured_from_the_page(theo: Client) -> None:
    job = a_job(a_handpiece(model=a_model()))
    test = a_blank_test(job)
    where = address("measure-one", job, test.pk, "free_running_speed")
    choose = theo.get(address("measure", job, test.pk)).content.decode()
    assert where in choose
    typed = {
        "version": latest(job),
        "value_0": "400,000",
        "value_1": "401 000",
        "value_2": "",
        "unit": "rpm",
    }
    missing = theo.post(where, typed | {"value_0": ""})
    assert "Fill this in; it is needed." in missing.content.decode()
    assert theo.post(where, typed).status_code == 302
    assert Measurement.objects.get().values == [400_000.0, 401_000.0]


def test_an_instrument_offered_says_that_its_check_is_overdue(theo: Client) -> None:
    late = a_gauge(name="old tachometer")
    a_gauge(name="good tachometer")
    InstrumentCheck.objects.create(
        entered_by=theo_the_technician(),
        instrument=late,
        checked_on=date(2025, 4, 30),
        due_on=date(2025, 10, 31),
    )
    test = a_blank_test(a_job())
    form = theo.get(address("measure-one", test.job, test.pk, "free_running_speed")).context["form"]

    offered = [label.replace("\u00a0", " ") for _, label in form.fields["instrument"].choices]
    assert offered[1:] == ["good tachometer", "old tachometer, check overdue since 31 Oct 2025"]


@pytest.mark.parametrize("value", ["nan", "", "1e9", "-5", "999999", "abc", "4\x00"])
def test_no_value_that_is_none(theo: Client, value: str) -> None:
    job = a_job()
    test = a_blank_test(job)
    typed = {"version": latest(job), "value_0": value, "unit": "rpm"}
    answer = theo.post(address("measure-one", job, test.pk, "free_running_speed"), typed)

    assert answer.status_code == 400
    assert not Measurement.objects.exists()


def test_what_a_class_has_not_is_not_measured(theo: Client) -> None:
    job = a_job(a_handpiece(class_key="low_speed_air_motor"))
    test = a_blank_test(job)

    assert theo.get(address("measure-one", job, test.pk, "colour")).status_code == 404
    assert theo.get(address("measure-one", job, test.pk, "run_out")).status_code == 404
    assert theo.get(address("measure", job, test.pk + 999)).status_code == 404
    assert theo.get(address("measure", a_job(), test.pk)).status_code == 404


# Findings and causes


def a_photo() -> SimpleUploadedFile:
    sent = BytesIO()
    Image.new("RGB", (8, 6), "grey").save(sent, "PNG")
    return SimpleUploadedFile("head.png", sent.getvalue(), "image/png")


def test_findings_are_written_with_note_and_photo(theo: Client) -> None:
    job = bring_to(a_job(), Stage.TORN_DOWN)
    typed = {
        "version": latest(job),
        "answer_rust_on_bearings": "seen",
        "note_rust_on_bearings": "red spots",
        "photo_rust_on_bearings": a_photo(),
        "answer_cage_broken": "not_seen",
        "answer_bearings_dry": "not_looked",
    }
    assert theo.post(address("findings", job), typed).status_code == 302

    rows = {row.key: row for row in Finding.objects.all()}
    assert set(rows) == {"rust_on_bearings", "cage_broken"}
    assert rows["rust_on_bearings"].photos.count() == 1
    page = theo.get(job.get_absolute_url()).content.decode()
    assert "red spots" in page
    assert 'alt="Photo: Rust on the bearings"' in page
    again = theo.get(address("findings", job)).content.decode()
    assert 'name="answer_rust_on_bearings" value="seen" checked' in again


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"answer_cage_broken": "maybe"}, "Answer: seen, looked"),
        ({"note_cage_broken": "cracked"}, "needs an answer"),
        ({"answer_cage_broken": "seen", "note_cage_broken": "x" * 301}, "301 characters"),
        ({"answer_cage_broken": "seen", "note_cage_broken": "a\x00b"}, "cannot be stored"),
        ({"answer_cage_broken": "seen", "known_cage_broken": "dreamt"}, "Answer: seen, looked"),
    ],
)
def test_bad_findings_keep_what_was_typed(theo: Client, typed: dict[str, str], said: str) -> None:
    job = bring_to(a_job(), Stage.TORN_DOWN)
    more = {"answer_rust_on_bearings": "seen", "note_rust_on_bearings": "<red>"}
    answer = theo.post(address("findings", job), {"version": latest(job)} | more | typed)

    page = answer.content.decode()
    assert answer.status_code == 400
    assert said in page
    assert 'value="&lt;red&gt;"' in page
    assert not Finding.objects.exists()


def test_what_is_no_photo_is_refused(theo: Client) -> None:
    job = bring_to(a_job(), Stage.TORN_DOWN)
    typed = {
        "version": latest(job),
        "answer_cage_broken": "seen",
        "photo_cage_broken": SimpleUploadedFile("x.png", b"PK\x03\x04 no picture", "image/png"),
    }
    assert theo.post(address("findings", job), typed).status_code == 400
    assert not Finding.objects.exists()


def test_before_opening_it_says_what_opening_destroys(theo: Client) -> None:
    job = bring_to(a_job(), Stage.TESTED_AS_RECEIVED)
    closed = theo.get(address("findings", job)).content.decode()
    assert closed.index("Before opening") < closed.index("With the loupe")
    assert "Opening destroys the feel" in closed

    actions.move_on(by=theo_the_technician(), job=job, to=Stage.TORN_DOWN)
    opened = theo.get(address("findings", job)).content.decode()
    assert opened.index("With the loupe") < opened.index("As it came")
    assert "Opening spoils this" in opened


def test_findings_of_another_class_are_not_asked(theo: Client) -> None:
    turbine = theo.get(address("findings", a_job())).content.decode()
    motor_job = a_job(a_handpiece(class_key="low_speed_air_motor"))
    motor = theo.get(address("findings", motor_job)).content.decode()

    assert "answer_impeller_rubbed" in turbine
    assert "answer_vanes_worn" not in turbine
    assert "answer_vanes_worn" in motor
    assert "answer_impeller_rubbed" not in motor
    assert "answer_repaired_lately" not in turbine


def test_the_ladder_comes_after_the_own_view(theo: Client) -> None:
    job = bring_to(a_job(), Stage.TORN_DOWN)
    theo.post(address("ladder", job), {"version": latest(job)})
    page = theo.get(job.get_absolute_url()).content.decode()
    assert "Write your own view first" in page
    assert 'class="ladder"' not in page

    typed = {"version": latest(job), "cause_key": "worn_out", "words": "seen many such"}
    assert theo.post(address("own-view", job), typed).status_code == 302
    page = theo.get(job.get_absolute_url()).content.decode()
    assert 'class="ladder"' in page
    assert "From trade experience, not counted" in page
    assert "seen many such" in page

    typed = {"version": latest(job), "cause_key": "worn_out", "contributing": ["drop_or_blow"]}
    assert theo.post(address("cause", job), typed).status_code == 302
    cause = job.causes.get()
    assert (cause.is_own_view, cause.is_after_ladder) == (True, True)
    assert cause.contributing == ["drop_or_blow"]


def test_an_office_sees_the_cause_and_no_ladder(client: Client) -> None:
    by = theo_the_technician()
    job = bring_to(a_job(), Stage.TORN_DOWN)
    actions.write_own_view(by=by, job=job, cause_key="worn_out", words="for the shop alone")
    actions.show_ladder(by=by, job=job)
    actions.confirm_cause(by=by, job=job, cause_key="seals_hardened")
    actions.write_note(by=by, job=job, text="a note of the shop")
    client.force_login(bea_of_birch_lane())
    page = client.get(job.get_absolute_url()).content.decode()

    assert "Seals hardened" in page
    for private in ("for the shop alone", "a note of the shop", 'class="ladder"', "actionline"):
        assert private not in page


# Estimate, steps, corrections


def test_an_estimate_goes_out_and_its_office_answers(client: Client) -> None:
    job = bring_to(a_job(), Stage.TORN_DOWN)
    client.force_login(theo_the_technician())
    typed = {"version": latest(job), "kind": "cartridge", "parts_price": "89,50"}
    assert client.post(address("option-new", job), typed).status_code == 302
    option = job.options.get()
    assert str(option.parts_price) == "89.50"
    client.post(address("job-move", job, "estimated"), {"version": latest(job)})
    assert latest(job)
    assert job.stage == Stage.ESTIMATED

    client.force_login(bea_of_birch_lane())
    assert address("answer", job) in client.get(job.get_absolute_url()).content.decode()
    typed = {"version": latest(job), "answer": str(option.pk), "answered_by": "Bea"}
    assert client.post(address("answer", job), typed).status_code == 302
    assert EstimateAnswer.objects.get().option == option


def test_the_answer_page_says_what_each_option_holds(client: Client) -> None:
    Shop.objects.create(pk=1, tax_name="Tax", tax_percent=Decimal(10))
    job = bring_to(a_job(), Stage.TORN_DOWN)
    actions.add_option(
        by=theo_the_technician(),
        job=job,
        kind="cartridge",
        words="New <cartridge> and rings.",
        parts_price=Decimal(90),
        labour_price=Decimal(45),
        warranty_months=6,
    )
    actions.move_on(by=theo_the_technician(), job=job, to=Stage.ESTIMATED)
    client.force_login(bea_of_birch_lane())
    page = client.get(address("answer", job)).content.decode()

    # 10 % of 90 + 45 is 13.50
    assert "148.50" in page
    assert "New &lt;cartridge&gt; and rings. Parts 90.00, work 45.00, Tax 13.50" in page
    assert "Warranty 6 months." in page


@pytest.mark.parametrize("price", ["-1", "nan", "1e9", "x", "0.005", "1,500,000"])
def test_no_price_that_is_none(theo: Client, price: str) -> None:
    job = bring_to(a_job(), Stage.TORN_DOWN)
    typed = {"version": latest(job), "kind": "cartridge", "parts_price": price}
    answer = theo.post(address("option-new", job), typed)

    assert answer.status_code == 400
    assert not job.options.exists()


def test_a_step_that_lacks_something_says_what(theo: Client) -> None:
    job = a_job()
    answer = theo.post(address("job-move", job, "tested_as_received"), {"version": 1})

    assert answer.status_code == 400
    assert "test it as received" in answer.content.decode()
    assert theo.get(address("job-move", job, "heaven")).status_code == 404
    assert "no step leads" in theo.get(address("job-move", job, "proved")).content.decode()


def test_other_steps_leave_out_what_the_main_action_leads_to(theo: Client) -> None:
    job = a_job()
    assert theo.get(job.get_absolute_url()).context["other_steps"] == [Stage.HANDED_BACK_UNREPAIRED]

    bring_to(job, Stage.ESTIMATED)
    others = [Stage.TORN_DOWN, Stage.NOT_WORTH_REPAIRING]
    actions.answer_estimate(by=theo_the_technician(), job=job, answer="declined", answered_by="Bea")
    page = theo.get(job.get_absolute_url())
    assert page.context["action"].label == "Hand back unrepaired"
    assert page.context["other_steps"] == others


def test_a_step_that_words_alone_open_stays_offered(theo: Client) -> None:
    job = bring_to(a_job(), Stage.AGREED)

    assert Stage.REBUILT in theo.get(job.get_absolute_url()).context["other_steps"]


def test_a_step_that_needs_a_reason_says_what_else_is_missing(theo: Client) -> None:
    job = a_job()
    bring_to(job, Stage.TORN_DOWN)
    actions.move_on(
        by=theo_the_technician(), job=job, to=Stage.NOT_WORTH_REPAIRING, reason="worn out"
    )
    page = theo.get(address("job-move", job, Stage.ESTIMATED)).content.decode()
    assert "write at least one option" in page
    assert "so it needs a reason" in page


def test_it_waits_and_waits_no_longer(theo: Client) -> None:
    job = a_job()
    typed = {"version": 1, "what": "parts", "owner": "a supplier"}
    theo.post(address("waiting", job), typed)
    page = theo.get(job.get_absolute_url()).content.decode()
    assert "Waits for parts" in page

    theo.post(address("waiting-stop", job), {"version": latest(job)})
    assert latest(job)
    assert job.waiting_for == ""
    assert theo.get(address("waiting-stop", job)).status_code == 405


@pytest.mark.parametrize(
    ("kind", "typed", "says"),
    [
        ("note", {"text": "it hums"}, "it hums"),
        ("part", {"name": "rear bearing", "quantity": "2"}, "rear bearing"),
        ("run-in", {"minutes": "4"}, "Run in 4 min"),
        ("measurement", {"value_0": "402000", "value_1": "403000", "unit": "rpm"}, "402,000"),
        ("test", {"mounted": "bur", "is_spray_on": "off"}, "set-up: bur"),
        ("option", {"kind": "bearings", "parts_price": "20"}, "New bearings"),
    ],
)
def test_an_entry_is_corrected_from_the_history(
    theo: Client, kind: str, typed: dict[str, str], says: str
) -> None:
    job, entry = entry_of(kind)
    where = address("correct", job, kind, entry.pk)
    history = theo.get(job.get_absolute_url()).content.decode()
    assert where in history
    assert theo.get(where).status_code == 200
    without = theo.post(where, {"version": latest(job)} | typed)
    assert without.status_code == 400

    answer = theo.post(where, {"version": latest(job), "reason": "slip"} | typed)
    assert answer.status_code == 302, answer.content.decode()
    new = type(entry).objects.get(corrects=entry)
    assert new.correction_reason == "slip"
    history = theo.get(job.get_absolute_url()).content.decode()
    assert says in history
    assert "In place of an earlier entry: slip" in history
    again = theo.post(where, {"version": latest(job), "reason": "slip"} | typed)
    assert again.status_code in {404, 409}


def test_an_entry_is_taken_back_from_the_page(theo: Client) -> None:
    job, part = entry_of("part")
    where = address("take-back", job, "part", part.pk)
    assert theo.post(where, {"version": latest(job)}).status_code == 400

    assert theo.post(where, {"version": latest(job), "reason": "not fitted"}).status_code == 302
    assert not job.parts.standing().exists()


def test_entries_of_another_job_or_kind_are_not_found(theo: Client) -> None:
    job, part = entry_of("part")
    other = a_job()

    assert theo.get(address("correct", other, "part", part.pk)).status_code == 404
    assert theo.get(address("correct", job, "soul", part.pk)).status_code == 404
    assert theo.get(address("correct", job, "finding", part.pk)).status_code == 404
    assert theo.get(address("take-back", job, "part", 10**6)).status_code == 404


def entry_of(kind: str) -> tuple[Job, object]:
    by = theo_the_technician()
    stage = {"option": Stage.ESTIMATED}.get(kind, Stage.REBUILT)
    job = bring_to(a_job(), stage)
    if kind == "note":
        return job, actions.write_note(by=by, job=job, text="it hums a little")
    if kind == "run-in":
        return job, actions.write_run_in(by=by, job=job, minutes=40.0)
    if kind in {"measurement", "test"}:
        test = a_blank_test(job, Test.When.FINAL)
        measure_speed(test)
        return job, test if kind == "test" else test.measurements.get()
    return job, {"part": job.parts, "option": job.options}[kind].get()
