from datetime import UTC, date, datetime, timedelta

import pytest
from django.urls import reverse

from tests.people import bea_of_birch_lane, theo_the_technician
from tests.web.jobs.builders import a_gauge, a_handpiece, a_job, a_model, bring_to
from turnwell.measure import Verdict
from turnwell.web.jobs import actions
from turnwell.web.jobs.models import Job, Stage, Waiting
from turnwell.web.offices.models import Office
from turnwell.web.shop.bench import (
    GROUPS,
    _worst,
    bench_groups,
    bench_lines,
    group_keys,
    overdue_instruments,
)
from turnwell.web.shop.models import InstrumentCheck

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 5, 12, 12, 0, tzinfo=UTC)


def text(answer):
    return answer.content.decode()


@pytest.fixture
def theo(client):
    client.force_login(theo_the_technician())
    return client


def test_every_stage_that_is_no_end_belongs_to_one_group():
    placed = [stage for kind in GROUPS for stage in kind.stages]
    assert sorted(placed) == sorted(stage for stage in Stage if not stage.is_end)
    waiting = [kind.waiting for kind in GROUPS if kind.waiting]
    assert sorted(waiting) == sorted(one for one in Waiting if one)


def test_jobs_lie_under_what_is_to_be_done_next():
    a_job(a_handpiece("NEW-1"))
    bring_to(a_job(a_handpiece("OPEN-1")), Stage.TORN_DOWN)
    bring_to(a_job(a_handpiece("GONE-1")), Stage.HANDED_BACK)
    groups = {group.key: group for group in bench_groups(theo_the_technician(), NOW)}
    assert [line.job.handpiece.serial for line in groups["to-test"].lines] == ["NEW-1"]
    assert [line.job.handpiece.serial for line in groups["to-estimate"].lines] == ["OPEN-1"]
    assert sum(group.count for group in groups.values()) == 2


def test_what_waits_for_somebody_lies_under_whom_it_waits_for():
    job = bring_to(a_job(a_handpiece("P-1")), Stage.AGREED)
    actions.wait_for(by=theo_the_technician(), job=job, what=Waiting.PARTS, owner="The supplier")
    [group] = bench_groups(theo_the_technician(), NOW)
    assert (group.key, group.lines[0].owner) == ("parts", "The supplier")


def test_a_line_says_what_weighs_most_in_the_latest_test():
    model = a_model()
    received = bring_to(a_job(a_handpiece(model=model)), Stage.TESTED_AS_RECEIVED)
    proved = bring_to(a_job(a_handpiece(model=model)), Stage.PROVED)
    no_label = bring_to(a_job(a_handpiece()), Stage.TESTED_AS_RECEIVED)
    lines = {line.job: line for line in bench_lines(Job.objects.with_handpiece(), NOW)}
    # 341,000 rpm as received and 401,000 in the end, against 400,000 +/- 10 % of the label.
    assert lines[received].verdict is Verdict.OUTSIDE
    assert lines[received].verdict_of == "Free-running speed"
    assert lines[proved].verdict is Verdict.WITHIN
    assert lines[no_label].verdict is None
    assert "rattles" in lines[received].complaint.lower()


def test_a_group_shows_its_oldest_and_how_many_more():
    for number in range(11):
        job = a_job(a_handpiece(f"T-{number:02d}"))
        since = NOW - timedelta(days=number)
        Job.objects.filter(pk=job.pk).update(stage_since=since, taken_in_at=since)
    [group] = bench_groups(theo_the_technician(), NOW, shown=8)
    assert (group.count, group.more) == (11, 3)
    assert [line.days for line in group.lines] == [10, 9, 8, 7, 6, 5, 4, 3]
    assert [line.is_old for line in group.lines][3:5] == [True, False]


def test_only_the_latest_standing_check_makes_an_instrument_overdue():
    gauge = a_gauge()
    by = theo_the_technician()

    def check(on, due, **more):
        return InstrumentCheck.objects.create(
            instrument=gauge, checked_on=on, due_on=due, entered_by=by, **more
        )

    old = check(date(2024, 1, 1), date(2025, 1, 1))
    [row] = overdue_instruments(date(2025, 1, 11))
    assert (row.instrument, row.days) == (gauge, 10)
    newer = check(date(2025, 1, 2), date(2026, 1, 2))
    assert overdue_instruments(date(2025, 1, 11)) == []
    check(date(2025, 1, 2), date(2026, 1, 2), corrects=newer, is_taken_back=True)
    assert [row.due_on for row in overdue_instruments(date(2025, 1, 11))] == [old.due_on]


@pytest.mark.parametrize(("name", "times"), [("Dial gauge", 1), ("Gauge of the lathe", 2)])
def test_an_instrument_named_after_its_kind_is_said_once(theo, name, times):
    gauge = a_gauge(name=name, kind="dial_gauge")
    InstrumentCheck.objects.create(
        instrument=gauge,
        checked_on=date(2024, 1, 1),
        due_on=date(2025, 1, 1),
        entered_by=theo_the_technician(),
    )
    page = text(theo.get(reverse("today")))
    assert page.count(name) + page.count("Dial gauge,") == times


def test_the_page_begins_with_the_scan_field(theo):
    page = text(theo.get(reverse("today")))
    assert page.index('id="scan"') < page.index("<h1>")
    assert "autofocus" in page


def test_the_empty_book_says_how_to_begin(theo):
    assert "The book is empty" in text(theo.get(reverse("today")))
    a_handpiece()
    assert "No handpiece is at the bench" in text(theo.get(reverse("today")))


def test_one_group_is_shown_whole_and_a_wrong_one_is_not_found(theo):
    a_job(a_handpiece("NEW-1"))
    assert "NEW-1" in text(theo.get(reverse("today"), {"group": "to-test"}))
    assert "Nothing waits here" in text(theo.get(reverse("today"), {"group": "to-prove"}))
    assert theo.get(reverse("today"), {"group": "nonsense"}).status_code == 404
    for key in group_keys():
        assert theo.get(reverse("today"), {"group": key, "page": "x"}).status_code == 200


def test_an_overdue_instrument_is_named(theo):
    InstrumentCheck.objects.create(
        instrument=a_gauge(),
        checked_on=date(2024, 1, 1),
        due_on=date(2025, 1, 1),
        entered_by=theo_the_technician(),
    )
    assert "Check overdue" in text(theo.get(reverse("today")))


def test_people_of_an_office_see_their_own_in_their_words(client):
    bea = bea_of_birch_lane()
    client.force_login(bea)
    a_job(a_handpiece("OWN-1"))
    a_job(a_handpiece("OTHER-1", office=Office.objects.create(name="Elm Row")))
    page = text(client.get(reverse("today")))
    assert "Received, to be tested" in page
    assert "OWN-1" in page
    assert "OTHER-1" not in page
    assert "To test as received" not in page
    assert "OTHER-1" not in text(client.get(reverse("today"), {"group": "to-test"}))


def test_it_needs_a_sign_in_and_takes_no_post(client, theo):
    assert theo.post(reverse("today")).status_code == 405
    theo.logout()
    assert client.get(reverse("today")).status_code == 302


def test_more_jobs_need_no_more_queries(theo, django_assert_max_num_queries):
    for number in range(9):
        bring_to(a_job(a_handpiece(f"T-{number}")), Stage.TESTED_AS_RECEIVED)
        a_job(a_handpiece(f"U-{number}"))
    with django_assert_max_num_queries(9):
        page = text(theo.get(reverse("today")))
    assert page.count("<li><a") >= 16


def test_what_a_recording_leaves_open_does_not_stand_before_what_was_asked():
    speed, untold = ("free_running_speed", "within"), ("roughness", "cannot tell")
    assert _worst([untold, speed]) == (Verdict.WITHIN, "Free-running speed")
    assert _worst([untold, ("free_running_speed", "cannot tell")])[1] == "Free-running speed"
    assert _worst([untold]) == (Verdict.CANNOT_TELL, "Roughness of the sound")
    outside = ("bearing_evidence", "outside")
    assert _worst([speed, outside])[0] == Verdict.OUTSIDE
