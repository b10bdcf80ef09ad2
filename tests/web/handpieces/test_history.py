from datetime import UTC, datetime, timedelta

import pytest

from tests.people import theo_the_technician
from tests.pictures.listenings import a_full_listening, a_listening
from tests.web.jobs.builders import a_blank_test, a_handpiece, a_job, bring_to, measure_speed
from tests.web.jobs.runs import keep
from turnwell.measure import cannot_tell, reading
from turnwell.pictures import LifeKind
from turnwell.web.handpieces import history
from turnwell.web.handpieces.coasting import coast_downs
from turnwell.web.handpieces.life import life_of
from turnwell.web.jobs import actions
from turnwell.web.jobs.analysis import sound
from turnwell.web.jobs.models import Job, Recording, Stage, StoredReading, Test
from turnwell.web.visits.actions import VisitDetails, add_visit
from turnwell.words import Message

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 11, 2, 12, 0, tzinfo=UTC)


def ended(handpiece, taken_in, days, reason=Job.Reason.FAULT):
    """Give a job of long ago, already handed back."""
    job = a_job(handpiece, reason=reason)
    end = taken_in + timedelta(days=days)
    Job.objects.filter(pk=job.pk).update(
        taken_in_at=taken_in, stage=Stage.HANDED_BACK, stage_since=end, ended_at=end
    )
    return job


def test_a_return_is_a_fault_after_the_first_hand_back():
    handpiece = a_handpiece()
    ended(handpiece, datetime(2025, 1, 6, tzinfo=UTC), 4)
    ended(handpiece, datetime(2025, 5, 5, tzinfo=UTC), 2, Job.Reason.PLANNED)
    ended(handpiece, datetime(2025, 9, 1, tzinfo=UTC), 9)
    life = life_of(handpiece, handpiece.jobs.all(), NOW)
    assert [event.kind for event in life.events] == [
        LifeKind.STAY,
        LifeKind.STAY,
        LifeKind.RETURN,
    ]
    assert life.events[2].until - life.events[2].on == timedelta(days=9)


def test_after_a_count_of_cycles_the_first_fault_is_a_return():
    handpiece = a_handpiece(
        known_cycles=500, known_cycles_on=datetime(2025, 1, 1, tzinfo=UTC).date()
    )
    ended(handpiece, datetime(2025, 3, 3, tzinfo=UTC), 1)
    life = life_of(handpiece, handpiece.jobs.all(), NOW)
    assert [event.kind for event in life.events] == [LifeKind.RETURN]
    assert life.counts[0].cycles == 500


def test_a_stay_handed_back_on_the_day_it_came_is_its_entry():
    handpiece = a_handpiece()
    ended(handpiece, datetime(2025, 3, 3, 8, tzinfo=UTC), 0.25)
    [event] = life_of(handpiece, handpiece.jobs.all(), NOW).events
    assert event.kind == LifeKind.STAY


def test_after_a_hand_back_unrepaired_the_next_fault_is_no_return():
    handpiece = a_handpiece()
    first = ended(handpiece, datetime(2025, 1, 6, tzinfo=UTC), 4)
    Job.objects.filter(pk=first.pk).update(stage=Stage.HANDED_BACK_UNREPAIRED)
    ended(handpiece, datetime(2025, 3, 3, tzinfo=UTC), 2)
    ended(handpiece, datetime(2025, 5, 5, tzinfo=UTC), 2)
    kinds = [event.kind for event in life_of(handpiece, handpiece.jobs.all(), NOW).events]
    assert kinds == [LifeKind.STAY, LifeKind.STAY, LifeKind.RETURN]


def test_a_return_is_one_for_a_reader_who_may_not_see_the_stay_before_it():
    handpiece = a_handpiece()
    ended(handpiece, datetime(2025, 1, 6, tzinfo=UTC), 4)
    later = ended(handpiece, datetime(2025, 5, 5, tzinfo=UTC), 2)
    [event] = life_of(handpiece, handpiece.jobs.filter(pk=later.pk), NOW).events
    assert event.kind == LifeKind.RETURN


def test_visits_of_its_office_are_part_of_its_life_and_those_before_it_are_not():
    handpiece = a_handpiece(in_service_since=datetime(2025, 6, 1, tzinfo=UTC).date())
    for month in (5, 7):
        details = VisitDetails(datetime(2025, month, 2, tzinfo=UTC).date(), "Care taught", True)
        add_visit(by=theo_the_technician(), office=handpiece.office, details=details, at=NOW)
    events = life_of(handpiece, handpiece.jobs.all(), NOW).events
    assert [(event.kind, event.on.month) for event in events] == [(LifeKind.VISIT, 7)]
    assert "trained" in events[0].words


def test_a_corrected_set_up_keeps_the_evidence_of_the_old_one():
    job = a_job()
    old = a_blank_test(job)
    measure_speed(old)
    new = a_blank_test(
        job, correction=actions.Correction(of=old, reason="spray was on"), is_spray_on=True
    )
    [once] = history.tests_of_jobs(job.handpiece.jobs.all())
    assert once.test == new
    assert once.readings["free_running_speed"].value == pytest.approx(401_000.0)


def test_a_measurement_taken_back_counts_no_more():
    job = a_job()
    test = a_blank_test(job)
    measure_speed(test)
    actions.take_back(
        by=theo_the_technician(), entry=test.measurements.get(), reason="wrong handpiece"
    )
    assert history.tests_of_jobs(job.handpiece.jobs.all()) == []


def test_the_stand_sets_the_final_test_beside_the_one_as_received():
    job = bring_to(a_job(), Stage.PROVED)
    tests = history.tests_of_jobs(job.handpiece.jobs.all())
    stand = history.latest_stand(tests)
    assert stand.latest.test.when == Test.When.FINAL
    [(now, before)] = stand.readings
    assert (now.value, before.value) == (pytest.approx(401_000.0), pytest.approx(341_000.0))
    table = history.over_time(tests)
    assert table.keys == ("free_running_speed",)
    assert [once.test.when for once, _ in table.rows] == [Test.When.FINAL, Test.When.AS_RECEIVED]
    assert history.baselines(tests) == []
    assert history.latest_stand([]) is None
    assert history.over_time([]) is None


def test_earlier_values_are_those_of_final_tests_with_the_same_set_up():
    job = bring_to(a_job(), Stage.HANDED_BACK)
    handpiece = job.handpiece
    again = a_blank_test(a_job(handpiece))
    key = "free_running_speed"
    assert history.earlier_values(handpiece, key, again) == (pytest.approx(401_000.0),)
    again.drive_pressure_kpa = 260.0
    assert history.earlier_values(handpiece, key, again) == ()
    again.drive_pressure_kpa, again.mounted = 240.0, Test.Mounted.BUR
    assert history.earlier_values(handpiece, key, again) == ()


def test_listening_is_told_the_own_coast_downs():
    job, theo = bring_to(a_job(), Stage.PROVED), theo_the_technician()
    final = job.tests.get(when=Test.When.FINAL)
    actions.add_measurement(
        by=theo,
        test=final,
        reading_key="coast_down_time",
        values=(2.0, 2.2),
        unit="s",
    )
    actions.move_on(by=theo, job=job, to=Stage.HANDED_BACK)
    again = a_blank_test(a_job(job.handpiece))
    assert sound._expectation(again)["baseline_coast_down_s"] == [pytest.approx(2.1)]
    assert sound._expectation(final)["baseline_coast_down_s"] is None


def test_listening_is_told_the_own_roughness():
    job = bring_to(a_job(), Stage.HANDED_BACK)
    final = job.tests.get(when=Test.When.FINAL)
    rough = reading("roughness", -31.5, -32.0, -31.0, "dB")
    StoredReading.objects.create(
        test=final,
        measurement=final.measurements.get(),
        key=rough.key,
        value=rough.value,
        verdict=rough.verdict,
        record=rough.as_record(),
        core="sound",
        core_version="1",
    )
    again = a_blank_test(a_job(job.handpiece))
    assert sound._expectation(again)["baseline_roughness_db"] == [-31.5]
    assert sound._expectation(final)["baseline_roughness_db"] is None


@pytest.fixture
def coasted(settings, tmp_path):
    """Give a handpiece of two jobs, with a recording of the final test and of the next stay."""
    settings.HOME, settings.EVIDENCE_ROOT = tmp_path, tmp_path / "evidence"
    job = bring_to(a_job(), Stage.REBUILT)
    final = keep(a_blank_test(job, Test.When.FINAL))
    bring_to(job, Stage.HANDED_BACK)
    later = keep(a_blank_test(a_job(job.handpiece)))
    for recording, coast_s in ((final, 3.0), (later, 1.5)):
        Recording.objects.filter(pk=recording.pk).update(
            listening=recording.listening | a_full_listening(coast_s=coast_s)
        )
    return job.handpiece, final, later


def test_the_latest_coast_down_lies_over_the_own_baseline(coasted):
    handpiece, final, later = coasted
    found = coast_downs(history.tests_of_jobs(handpiece.jobs.all()))
    assert (found.latest.test, found.baseline.test) == (later.test, final.test)
    assert found.before["coast_down"][1]["time_s"][-1] > found.after["coast_down"][1]["time_s"][-1]


def test_a_coast_down_of_another_set_up_is_no_baseline(coasted):
    handpiece, final, _ = coasted
    Test.objects.filter(pk=final.test.pk).update(is_spray_on=True)
    found = coast_downs(history.tests_of_jobs(handpiece.jobs.all()))
    assert found.baseline is None
    assert found.before is None


def test_recordings_of_an_earlier_version_give_no_coast_down(coasted):
    handpiece, *_ = coasted
    Recording.objects.update(listening=a_listening())
    assert coast_downs(history.tests_of_jobs(handpiece.jobs.all())) is None


def test_the_page_draws_both_and_stays_quiet_without(coasted, client):
    handpiece, *_ = coasted
    client.force_login(theo_the_technician())
    page = client.get(handpiece.get_absolute_url()).text
    assert "Latest over its own baseline" in page
    assert "Before, dashed, runs: 3" in page
    Recording.objects.update(listening=a_listening())
    assert "Latest over" not in client.get(handpiece.get_absolute_url()).text


def test_what_tells_how_it_ages_has_the_first_columns():
    job = a_job()
    keys = ["speed_wander", "drive_speed", "coast_down_half_time", "a", "b", "c", "roughness"]
    rough = {key: reading(key, 1.0, 1.0, 1.0, "", name=Message("reading.run_out")) for key in keys}
    tests = [history.TestedOnce(job, a_blank_test(job), dict(rough)) for _ in range(2)]
    table = history.over_time(tests)
    assert table.keys[0] == "roughness"
    assert len(table.keys) == history.MOST_COLUMNS


def test_what_no_test_could_tell_has_no_column():
    job = a_job()
    untold = {"roughness": cannot_tell("roughness", "dB", Message("measure.not_measured"))}
    told = {"roughness": reading("roughness", -30.0, -31.0, -29.0, "dB")}
    silent, heard = (history.TestedOnce(job, a_blank_test(job), one) for one in (untold, told))
    assert history.over_time([silent, silent]) is None
    assert history.over_time([silent, heard]).keys == ("roughness",)
