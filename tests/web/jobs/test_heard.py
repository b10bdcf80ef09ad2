"""What was heard, as pages show it: sentences, readings by group, pictures folded away."""

import re

import pytest
from django.urls import reverse

from tests.people import bea_of_birch_lane, theo_the_technician
from tests.pictures.listenings import a_coast_down, a_full_listening, a_listening
from tests.web.jobs.builders import a_blank_test, a_job, bring_to
from tests.web.jobs.runs import keep
from turnwell.measure import Basis, Limit, cannot_tell, reading
from turnwell.web.jobs import actions
from turnwell.web.jobs.models import Recording, Stage, Test
from turnwell.web.jobs.reading_groups import GROUPS, grouped
from turnwell.web.jobs.said import faults_in, said_in
from turnwell.words import Message, text_of

MOST_BYTES = 350_000


def some(key, value=1.0, **more):
    return reading(key, value, value, value, "", **more)


def test_readings_come_under_their_headings_in_a_fixed_order():
    groups = grouped(
        [(some(key), None) for key in ("run_out", "roughness", "coast_down_time", "speed_wander",
                                       "free_running_speed")]
    )  # fmt: skip
    assert [group.heading for group in groups] == [
        "Speed", "Coast-down", "Bearings and roughness", "By instrument",
    ]  # fmt: skip
    assert [row.now.key for row in groups[0].first] == ["free_running_speed", "speed_wander"]


def test_no_reading_is_lost_and_each_of_one_key_stays():
    keys = [*(key for keys in GROUPS.values() for key in keys), "run_out", "run_out"]
    groups = grouped([(some(key), None) for key in keys])
    shown = [row.now.key for group in groups for row in (*group.first, *group.further)]
    assert sorted(shown) == sorted(keys)


def test_a_figure_that_is_held_against_a_limit_is_not_folded_away():
    key = "coast_down_deceleration_50"
    limit = Limit(None, 2.0, "own", Basis.OWN)
    (free,), (held,) = grouped([(some(key), None)]), grouped([(some(key, limit=limit), None)])
    assert (len(free.first), len(free.further)) == (0, 1)
    assert (len(held.first), len(held.further)) == (1, 0)


def test_a_reason_that_is_said_over_the_readings_is_said_once():
    told = some("roughness", why=Message("measure.not_measured"))
    (group,) = grouped([(told, None)], [text_of(told.why)])
    assert group.first[0].is_told
    (group,) = grouped([(told, None)], ["Something else."])
    assert not group.first[0].is_told
    untold = cannot_tell("roughness", "dB", told.why)
    (group,) = grouped([(untold, None)], [text_of(told.why)])
    assert not group.first[0].is_told


@pytest.mark.parametrize("key", sorted(key for keys in GROUPS.values() for key in keys))
def test_every_reading_of_the_sound_has_a_name(key):
    assert text_of(f"reading.{key}")


def test_the_sound_says_its_sentences_by_topic():
    said = {one.topic: one.text for one in said_in(a_full_listening())}
    assert said["Bearing"].startswith("The outer ring")
    assert set(said) == {"Bearing", "Rotation line", "Roughness"}
    (fault,) = faults_in(a_full_listening())
    assert "16.0 kHz" in fault.text


def test_a_bearing_that_was_inferred_is_said_with_its_doubt():
    ratio = {"value": 0.21, "low": 0.205, "high": 0.215}
    inferred = {"balls": 8, "balls_chance": 0.93, "ratio": ratio}
    (one,) = said_in({"orders": {"inferred_bearing": inferred}})
    assert "8 balls (probability 0.93)" in one.text
    assert "0.205 to 0.215 of its pitch diameter" in one.text


def test_a_drag_that_could_not_be_told_is_said_once_and_only_where_no_run_told_it():
    lost, told = a_coast_down(law=False), a_coast_down()
    (one,) = said_in({"coast_down": [lost, lost]})
    assert (one.topic, one.text) == ("Coast-down", lost["why_no_law"])
    assert said_in({"coast_down": [lost, told]}) == []


@pytest.mark.parametrize("listening", [None, {}, a_listening(), {"condition": None, "gate": None}])
def test_a_document_of_an_earlier_version_says_nothing_more(listening):
    assert said_in(listening) == []
    assert faults_in(listening) == []


@pytest.fixture
def pages(db, client, settings, tmp_path):
    """Give a job with a recording before and one after, and who looks at it."""
    settings.HOME, settings.EVIDENCE_ROOT = tmp_path, tmp_path / "evidence"
    job = a_job()
    first = keep(a_blank_test(job))
    actions.move_on(by=theo_the_technician(), job=job, to=Stage.TESTED_AS_RECEIVED)
    bring_to(job, Stage.REBUILT)
    last = keep(a_blank_test(job, Test.When.FINAL))
    client.force_login(theo_the_technician())
    return job, first, last


def heard(recording, **more):
    Recording.objects.filter(pk=recording.pk).update(
        listening=(recording.listening or {}) | a_full_listening(**more)
    )


def words(html):
    return " ".join(re.sub(r"<[^>]+>", " ", html).split())


def test_a_job_shows_before_and_after_in_every_picture(client, pages):
    job, first, last = pages
    heard(first, coast_s=1.9)
    heard(last, stands_out=())
    page = client.get(job.get_absolute_url()).text
    said = words(page)
    for part in ("What the sound says", "No line of the bearing stands out",
                 "Coast-down, before and after", "Before, dashed, runs: 3", "Lines before:",
                 "The coding passes nothing above 16.0 kHz."):  # fmt: skip
        assert part in said, part
    # Each picture once, folded away, and nothing inline.
    assert page.count("Coast-down, before and after</summary>") == 1
    assert not re.search(r"\sstyle=|<style|\son\w+=", page)
    assert len(page.encode()) < MOST_BYTES


def test_a_recording_shows_its_pictures_open(client, pages):
    job, first, _ = pages
    heard(first)
    page = client.get(reverse("recording", args=[job.code, first.pk])).text
    assert page.count('<details class="further" open>') == 2
    assert "outer ring stands out" in words(page)
    client.force_login(bea_of_birch_lane())
    assert "Order picture" in client.get(job.get_absolute_url()).text


def test_recordings_of_an_earlier_version_show_no_new_picture(client, pages):
    job, first, last = pages
    for recording in (first, last):
        Recording.objects.filter(pk=recording.pk).update(listening=a_listening())
    for address in (
        job.get_absolute_url(),
        reverse("recording", args=[job.code, first.pk]),
    ):
        page = client.get(address)
        assert page.status_code == 200
        assert "Order picture" not in page.text
        assert "What the sound says" not in page.text
