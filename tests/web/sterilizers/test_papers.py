"""Cycle reviews: issued from the records as they stand, kept, handed out to who may see them."""

import re
from datetime import date, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from tests.people import bea_of_birch_lane, theo_the_technician
from tests.web.sterilizers.builders import FRIDAY, a_record, a_sterilizer, week_after_week
from tests.web.sterilizers.test_history import runs
from turnwell import papers
from turnwell.errors import NotAllowedError, StageError
from turnwell.steam import FaultKey
from turnwell.web.accounts.models import Role, User
from turnwell.web.offices.models import Office
from turnwell.web.shop.queries import the_shop
from turnwell.web.sterilizers import actions
from turnwell.web.sterilizers.analysis.papers import months_values, run_values
from turnwell.web.sterilizers.models import CycleRecord, IssuedReview
from turnwell.web.visits.actions import VisitDetails, add_visit
from turnwell.words import text_of

pytestmark = pytest.mark.django_db


def test_the_months_of_a_sterilizer_are_issued_once_and_kept():
    sterilizer = a_sterilizer()
    for more in week_after_week(12, short_every=2):
        a_record(sterilizer, **more)
    theo = theo_the_technician()
    issued = actions.issue_review(by=theo, sterilizer=sterilizer)
    assert issued.file.media_type == "application/pdf"
    assert issued.record is None
    values = months_values(sterilizer, shop=the_shop(), by=theo, at=issued.issued_at)
    assert values.months.says[0].startswith("Drying was cut short in 6 of 12 cycles")
    (friday,) = values.months.week
    assert (friday.weekday, friday.part, friday.short, friday.runs) == (4, "from noon", 6, 12)


def test_the_months_say_what_to_change_the_most_useful_first():
    sterilizer = a_sterilizer()
    for more in week_after_week(12, short_every=2):
        a_record(sterilizer, **more)
    theo = theo_the_technician()
    water = {"chloride": 30.0, "acidity": 6.5}
    sampled_on = date(2026, 5, 4)
    actions.add_feed_water(by=theo, sterilizer=sterilizer, sampled_on=sampled_on, values=water)
    months = months_values(sterilizer, shop=the_shop(), by=theo, at=timezone.now()).months
    drying, feed, before = months.advice
    assert drying.do == text_of("papers.cycle_do.drying_shortened")
    assert drying.saw[0].startswith("Drying cut short: in 6 of the last 12 runs with a date, ")
    # The acidity lies within its limit and is not told.
    assert [row.key for row in feed.readings] == ["feed_water_chloride"]
    assert before.do == text_of("papers.cycle_do.dry_before")
    assert months.changed == (text_of("papers.cycle_changed.not_yet"),)


def test_a_part_of_the_week_stands_behind_the_drying_that_it_explains():
    sterilizer = a_sterilizer()
    runs(sterilizer, began=FRIDAY, count=12, short=10)
    runs(sterilizer, began=FRIDAY - timedelta(days=3, hours=8), count=24, short=1)
    months = months_values(
        sterilizer, shop=the_shop(), by=theo_the_technician(), at=timezone.now()
    ).months
    drying, week = months.advice[:2]
    assert drying.saw[0].startswith("Drying cut short: in 11 of the last 36 runs")
    assert week.do == text_of("papers.cycle_do.week")
    assert week.saw[0].startswith("Friday afternoon: drying cut short in 10 of 12 runs")


def test_the_months_tell_whether_the_training_worked():
    sterilizer = a_sterilizer()
    runs(sterilizer, began=FRIDAY - timedelta(weeks=20), count=20, short=15)
    runs(sterilizer, began=FRIDAY, count=20, short=1)
    theo = theo_the_technician()
    trained = (FRIDAY - timedelta(weeks=19, days=3)).date()
    details = VisitDetails(trained, "Whole team taught", was_training=True)
    add_visit(by=theo, office=sterilizer.office, details=details)
    months = months_values(sterilizer, shop=the_shop(), by=theo, at=timezone.now()).months
    training, worked, by_how_much = months.changed
    assert training.endswith(": Whole team taught.")
    assert worked.startswith("Drying is cut short less often since")
    assert worked not in months.says
    assert by_how_much.startswith("In percentage points: −70 (")


def test_a_value_that_passed_its_limit_is_named_though_the_sensor_leaves_it_open():
    sterilizer = a_sterilizer()
    runs(sterilizer, began=FRIDAY, count=3, short=0, plateau_c=133.8)
    months = months_values(
        sterilizer, shop=the_shop(), by=theo_the_technician(), at=timezone.now()
    ).months
    value = months.advice[0]
    assert [(row.key, row.value) for row in value.readings] == [("plateau_temperature_c", 133.8)]
    assert "beyond its limit" in value.saw[0]


def test_runs_without_a_plan_or_a_day_are_named():
    sterilizer = a_sterilizer()
    runs(sterilizer, began=FRIDAY, count=2, short=0, planned_s=None)
    a_record(sterilizer, number=9, began=None)
    months = months_values(
        sterilizer, shop=the_shop(), by=theo_the_technician(), at=timezone.now()
    ).months
    assert months.advice[0].do == text_of("papers.cycle_do.no_plan")
    assert months.says[-1] == "Records without a day, counted nowhere here: 1."


def test_list_office_page_and_paper_count_the_same_runs(client):
    sterilizer = a_sterilizer()
    runs(sterilizer, began=FRIDAY, count=7, short=3)
    # Without a day it stands in no share, however its drying ran.
    cut = {"dried_s": 600.0, "faults": (FaultKey.DRYING_SHORTENED,)}
    a_record(sterilizer, number=20, began=None, **cut)
    theo = theo_the_technician()
    client.force_login(theo)
    for address in (reverse("sterilizers"), reverse("office", args=[sterilizer.office_id])):
        page = client.get(address).content.decode()
        assert re.search(r"cut short in (\d+ of \d+)", page)[1] == "3 of 7"
    page = client.get(sterilizer.get_absolute_url()).content.decode()
    assert "Drying was cut short in 3 of 7 cycles" in page
    months = months_values(sterilizer, shop=the_shop(), by=theo, at=timezone.now()).months
    assert months.says[0].startswith("Drying was cut short in 3 of 7 cycles")
    assert months.advice[0].saw[0].startswith("Drying cut short: in 3 of the last 7 runs")


def test_one_run_is_issued_with_its_faults_and_what_to_ask():
    record = a_record(dried_s=672.0, faults=(FaultKey.DRYING_SHORTENED,))
    theo = theo_the_technician()
    issued = actions.issue_run_review(by=theo, record=record)
    assert list(record.papers.all()) == [issued]
    run = run_values(record, shop=the_shop(), by=theo, at=issued.issued_at).run
    assert run.says[0].startswith("Drying stopped at 11.2 of 20.0 minutes.")
    assert [fault.key for fault in run.faults] == ["drying_shortened"]
    assert run.questions == ("It was not measured.",)
    assert run.began.strftime("%H:%M") == "17:12"


def test_nothing_is_issued_that_has_nothing_to_say():
    theo = theo_the_technician()
    sterilizer = a_sterilizer()
    with pytest.raises(StageError, match="no record with a clock"):
        actions.issue_review(by=theo, sterilizer=sterilizer)
    a_record(sterilizer, began=None)
    with pytest.raises(StageError, match="no record with a clock"):
        actions.issue_review(by=theo, sterilizer=sterilizer)
    record = a_record(sterilizer, number=2)
    CycleRecord.objects.filter(pk=record.pk).update(review=None)
    record.refresh_from_db()
    with pytest.raises(StageError, match="was not read"):
        actions.issue_run_review(by=theo, record=record)
    assert not IssuedReview.objects.exists()


def test_an_office_issues_nothing_and_is_handed_its_own(client):
    record = a_record()
    bea = bea_of_birch_lane()
    with pytest.raises(NotAllowedError):
        actions.issue_review(by=bea, sterilizer=record.sterilizer)
    issued = actions.issue_review(by=theo_the_technician(), sterilizer=record.sterilizer)
    address = reverse("cycle-review", args=[issued.pk])
    client.force_login(bea)
    assert client.get(address).content.startswith(b"%PDF-")
    elm = Office.objects.create(name="Elm Row")
    client.force_login(User.objects.create_user("quill", role=Role.OFFICE, office=elm))
    assert client.get(address).status_code == 404


def test_papers_are_issued_from_the_pages(client):
    record = a_record()
    client.force_login(theo_the_technician())
    for name, pk in (
        ("cycle-review-issue", record.sterilizer_id),
        ("cycle-record-review", record.pk),
    ):
        address = reverse(name, args=[pk])
        assert client.get(address).status_code == 405
        assert client.post(address).url.endswith("#papers")
    page = client.get(record.sterilizer.get_absolute_url()).content.decode()
    assert page.count("Cycle review") >= 2
    assert "of one run" in page
    assert papers.PageSize(the_shop().paper_size)


def test_a_page_says_why_nothing_was_issued(client):
    sterilizer = a_sterilizer()
    client.force_login(theo_the_technician())
    page = client.post(reverse("cycle-review-issue", args=[sterilizer.pk]), follow=True)
    assert "has no record with a clock" in page.content.decode()
