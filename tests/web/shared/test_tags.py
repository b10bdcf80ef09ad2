"""The shared tags, rendered as a page renders them."""

import re
from datetime import UTC, date, datetime

import pytest
from django.template import engines

from tests.pictures.listenings import a_listening
from tests.web.jobs.builders import a_job, bring_to
from turnwell.catalogue import load
from turnwell.cause import rank, table_for
from turnwell.measure import Basis, Limit, Verdict, cannot_tell, reading
from turnwell.pictures import Life, LifeEvent, LifeKind
from turnwell.steam.months import DryingRun, habits_of
from turnwell.web.jobs import actions
from turnwell.web.jobs.models import Stage
from turnwell.web.shop.models import Shop
from turnwell.words import Message

NOON = datetime(2026, 5, 12, 22, 30, tzinfo=UTC)


def rendered(tag, **context):
    return engines["django"].from_string("{% load turnwell %}" + tag).render(context)


def words(html):
    return " ".join(re.sub(r"<[^>]+>", " ", html).split())


def run_out(value, basis=Basis.MEMORY):
    return reading(
        "run_out", value, value - 0.004, value + 0.004, "mm",
        limit=Limit(None, 0.03, "class sheet", basis),
    )  # fmt: skip


def test_a_reading_shows_value_interval_verdict_limit_and_doubt():
    said = words(rendered("{% reading r %}", r=run_out(0.014)))
    for part in ("Run-out at the test bar", "0.014 mm", "0.010 to 0.018", "within",
                 "Limit: at most 0.030 mm, class sheet ( not verified: from memory )"):  # fmt: skip
        assert part in said, part


def test_a_limit_of_the_shop_is_not_doubted():
    assert "not verified" not in rendered("{% reading r %}", r=run_out(0.014, Basis.OWN))


def test_a_reading_shows_the_earlier_one_beside_it():
    html = rendered("{% reading r before=b %}", r=run_out(0.014), b=run_out(0.031))
    assert "before 0.031 (0.027 to 0.035)" in words(html)
    assert 'class="v-before"' in html


def test_a_reading_that_cannot_be_told_has_no_value_and_its_reason():
    untold = cannot_tell("run_out", "mm", Message("measure.not_measured"))
    said = words(rendered("{% reading r %}", r=untold))
    assert "no value" in said
    assert "cannot tell" in said
    assert "It was not measured." in said


def test_quantities_come_in_the_shops_units():
    # 240 kPa is 34.8 psi: NIST SP 811, appendix B.8.
    drive = reading("drive_air_pressure", 240.0, 236.0, 244.0, "kPa")
    said = words(rendered("{% reading r %}", r=drive, shop=Shop(pressure_unit="psi")))
    assert "34.8 psi 34.2 to 35.4" in said


@pytest.mark.parametrize(
    ("verdict", "shape"),
    [("within", "within"), ("outside", "outside"), ("not proven", "unproven"),
     ("cannot tell", "untold")],
)  # fmt: skip
def test_a_verdict_has_its_word_and_its_shape(verdict, shape):
    html = rendered("{% verdict v %}", v=verdict)
    assert words(html) == verdict
    assert f'href="#shape-{shape}"' in html


def test_no_limit_has_no_mark():
    html = rendered("{% verdict v %}", v=Verdict.NO_LIMIT)
    assert words(html) == "no limit"
    assert "<svg" not in html


def test_a_limit_bar_alone_says_what_it_shows():
    assert 'aria-label="Run-out at the test bar: 0.014 mm' in rendered(
        "{% limit_bar r %}", r=run_out(0.014)
    )


@pytest.mark.parametrize(
    ("zone", "shown"),
    [("Europe/Berlin", "13 May 2026, 00:30"), ("America/New_York", "12 May 2026, 18:30")],
)
def test_a_time_is_that_of_the_wall_it_is_shown_on(zone, shown):
    html = rendered("{% when t z %}", t=NOON, z=zone)
    assert words(html).replace("\u00a0", " ") == shown


def test_a_time_without_zone_is_the_shops():
    html = rendered("{% when t %}", t=NOON, shop=Shop(time_zone="Asia/Tokyo"))
    assert words(html).replace("\u00a0", " ") == "13 May 2026, 07:30"


@pytest.mark.parametrize(("given", "shown"), [(date(2026, 5, 1), "1 May 2026"), (None, "")])
def test_a_day_is_no_moment(given, shown):
    assert words(rendered("{% when t %}", t=given)).replace("\u00a0", " ") == shown


def test_a_code_is_shown_as_people_read_it():
    assert words(rendered("{% code c %}", c="H15NM7N")) == "H 15NM7-N"


def test_a_ladder_is_shown_from_the_core_and_from_its_record():
    table = table_for(load(), "air_turbine_4_hole", lubricated="yes")
    ladder = rank(table, complaints=["no_torque"], seen=["bearings_dry"])
    html = rendered("{% cause_ladder l %}", l=ladder)
    assert html == rendered("{% cause_ladder l %}", l=ladder.as_record())
    said = words(html)
    shown = len(re.findall(r'<li class="rung\b', html))
    assert ladder.first.name in said
    assert f"The other {len(ladder.rungs) - shown} causes" in said
    assert "Look next" in said


def test_a_life_is_listed_beside_its_strip():
    event = LifeEvent(
        date(2026, 1, 2), LifeKind.RETURN, "Returned <b>slow</b>.", address="/jobs/x/"
    )
    html = rendered("{% life_strip l %}", l=Life("H", date(2025, 1, 1), date(2026, 5, 1), (event,)))
    assert "<b>slow" not in html
    assert 'href="/jobs/x/"' in html
    assert "returns 1" in html


def test_a_trace_is_drawn_with_its_words_and_nothing_inline():
    html = rendered("{% speed_trace after=a %}", a=a_listening())
    assert html.count('class="chart__svg"') == 3
    assert "steady 400,000 rpm" in words(html)
    assert not re.search(r"\sstyle=|<style|\son\w+=", html)


def test_without_a_track_the_trace_says_so():
    assert words(rendered("{% speed_trace after=a %}", a=None)) == "No run is on file to draw."


@pytest.mark.django_db
def test_a_trip_marks_what_is_done_what_is_here_and_what_comes():
    job = bring_to(a_job(), Stage.TORN_DOWN)
    html = rendered("{% trip job %}", job=job)
    assert html.count('class="is-done"') == 2
    assert re.search(r'aria-current="step"><b>Torn down</b>', html)
    assert "step 3 of 8, next: estimated" in words(html)


@pytest.mark.django_db
def test_a_small_trip_reads_no_rows(django_assert_num_queries):
    job = bring_to(a_job(), Stage.TORN_DOWN)
    with django_assert_num_queries(0):
        html = rendered("{% trip job small=True %}", job=job)
    assert 'aria-label="Torn down, step 3 of 8"' in html


@pytest.mark.django_db
def test_a_trip_that_left_the_usual_way_shows_how_it_ended():
    job = bring_to(a_job(), Stage.TORN_DOWN)
    by = job.taken_in_by
    actions.move_on(by=by, job=job, to=Stage.NOT_WORTH_REPAIRING, reason="seized")
    actions.move_on(by=by, job=job, to=Stage.HANDED_BACK_UNREPAIRED)
    html = rendered("{% trip job %}", job=job)
    assert "Estimated" not in html
    assert html.count('class="is-done"') == 5
    assert 'class="trip trip--5"' in html


def test_a_week_says_counts_and_days_and_shades_by_share():
    friday, monday = datetime(2026, 3, 6, 16, 0), datetime(2026, 3, 2, 9, 0)  # noqa: DTZ001  # the wall clock
    runs = [DryingRun(friday, True)] * 25 + [DryingRun(friday, False)] * 5
    runs += [DryingRun(monday, False)] * 28 + [DryingRun(monday, True)] * 2
    runs += [DryingRun(datetime(2026, 3, 4, 9, 0), True)] * 2  # noqa: DTZ001
    habits = habits_of(runs)
    html = rendered("{% week_table cells %}", cells=habits.half_days)
    said = words(html)
    for part in ("Monday", "Friday", "until noon", "2 of 30", "2 of 2 (few)", "no run"):
        assert part in said
    assert '<td class="weektable__cell weektable__cell--4"><b>25 of 30</b></td>' in html
    assert '<td class="weektable__cell weektable__cell--0">2 of 2' in html
    assert said.index("until noon") < said.index("from noon")
    hours = words(rendered("{% week_table cells %}", cells=habits.hours))
    assert hours.index("09 to 10") < hours.index("16 to 17")
    assert rendered("{% week_table cells %}", cells=()).strip() == ""
