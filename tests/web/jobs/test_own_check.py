"""A tachometer's reading beside a recording: written, corrected, paired, and used."""

import pytest
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse

from tests.people import bea_of_birch_lane, theo_the_technician
from tests.web.jobs.builders import a_blank_test, a_gauge, a_handpiece, a_job, a_model, bring_to
from tests.web.jobs.pairs import STEADY, heard, pairs, write
from tests.web.jobs.runs import RUN_RPM, keep
from turnwell.errors import ChangedMeanwhileError, InputError, NotAllowedError
from turnwell.web.jobs.actions import Correction, add_tachometer_reading, add_test, take_back
from turnwell.web.jobs.analysis.own_check import check_beside, own_checks
from turnwell.web.jobs.models import Stage, TachometerReading, Test
from turnwell.web.shop.models import Instrument
from turnwell.words import text_of

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _own_data_folder(settings, tmp_path):
    settings.EVIDENCE_ROOT = tmp_path / "evidence"


@pytest.fixture
def microphone():
    return Instrument.objects.create(name="bench phone", kind=Instrument.Kind.MICROPHONE)


@pytest.fixture
def tachometer():
    return a_gauge(stated_error=40.0)


@pytest.fixture
def test(microphone):
    return a_blank_test(a_job(a_handpiece(model=a_model())), microphone=microphone)


@pytest.fixture
def theo():
    client = Client()
    client.force_login(theo_the_technician())
    return client


def posted(client, recording, tachometer, **fields):
    test = recording.test
    return client.post(
        reverse("tachometer-new", args=[test.job.code, recording.pk]),
        {"version": test.job.version, "speed_rpm": "399,980", "instrument": tachometer.pk} | fields,
    )


def test_a_reading_is_written_beside_a_recording(theo, test, tachometer):
    recording = heard(test, 400_000.0)
    test.job.refresh_from_db()
    answer = posted(theo, recording, tachometer, note="second try")
    page = reverse("recording", args=[test.job.code, recording.pk])
    assert answer["Location"] == page
    row = TachometerReading.objects.get()
    assert (row.speed_rpm, row.instrument, row.note) == (399_980.0, tachometer, "second try")
    shown = theo.get(page).text
    assert "399,980 rpm" in shown
    assert "+0.005 %" in shown  # 20 in 400,000
    assert "1 of 10 pairs" in shown
    assert "Write down this reading" not in shown


@pytest.mark.parametrize(("speed_rpm", "is_far"), [(398_000.0, False), (40_000.0, True)])
def test_a_reading_far_from_what_was_heard_is_asked_about(
    theo, test, tachometer, speed_rpm, is_far
):
    recording = heard(test, 400_000.0)
    write(recording, speed_rpm, tachometer)
    page = theo.get(reverse("recording", args=[test.job.code, recording.pk])).text
    assert ("look whether it was misread" in page) is is_far


def test_a_bad_form_is_shown_again_and_writes_nothing(theo, test, tachometer):
    recording = heard(test, 400_000.0)
    test.job.refresh_from_db()
    for fields in ({"speed_rpm": "fast"}, {"speed_rpm": "9,000,000"}, {"instrument": ""}):
        answer = posted(theo, recording, tachometer, **fields)
        assert answer.status_code == 400
        assert "Write down this reading" in answer.text
    assert not TachometerReading.objects.exists()


def test_the_same_form_sent_twice_writes_once(theo, test, tachometer):
    recording = heard(test, 400_000.0)
    assert posted(theo, recording, tachometer).status_code == 302
    again = posted(theo, recording, tachometer)
    assert again.status_code == 400
    assert "has a tachometer reading already" in again.text
    assert TachometerReading.objects.count() == 1


def test_a_get_is_no_way_to_write(theo, test):
    address = reverse("tachometer-new", args=[test.job.code, heard(test, 400_000.0).pk])
    assert theo.get(address).status_code == 405


def test_an_office_sees_no_form_and_may_not_write(test, tachometer):
    recording = heard(test, 400_000.0)
    bea = Client()
    bea.force_login(bea_of_birch_lane())
    page = bea.get(reverse("recording", args=[test.job.code, recording.pk])).text
    assert "Tachometer" not in page
    assert posted(bea, recording, tachometer).status_code == 403
    with pytest.raises(NotAllowedError):
        add_tachometer_reading(
            by=bea_of_birch_lane(), recording=recording, speed_rpm=4e5, instrument=tachometer
        )


@pytest.mark.parametrize("speed_rpm", [0.0, -1.0, 700_000.0, float("nan")])
def test_an_unbelievable_speed_is_refused(test, tachometer, speed_rpm):
    with pytest.raises(InputError):
        write(heard(test, 400_000.0), speed_rpm, tachometer)


def test_the_database_refuses_a_speed_of_nothing(test, tachometer):
    recording = heard(test, 400_000.0)
    with pytest.raises(IntegrityError), transaction.atomic():
        TachometerReading.objects.create(
            recording=recording,
            speed_rpm=0.0,
            instrument=tachometer,
            entered_by=theo_the_technician(),
        )


def test_only_a_tachometer_in_use_counts(test, microphone, tachometer):
    recording = heard(test, 400_000.0)
    with pytest.raises(InputError, match="no tachometer"):
        write(recording, 400_000.0, microphone)
    tachometer.is_retired = True
    with pytest.raises(InputError, match="retired"):
        write(recording, 400_000.0, tachometer)


def test_two_readings_of_one_run_are_no_two_pairs(test, tachometer):
    recording = heard(test, 400_000.0)
    write(recording, 400_000.0, tachometer)
    with pytest.raises(InputError, match="already"):
        write(recording, 400_010.0, tachometer)


def test_a_recording_that_was_taken_back_gets_none_and_makes_no_pair(test, microphone, tachometer):
    recording = heard(test, 400_000.0)
    write(recording, 400_000.0, tachometer)
    take_back(by=theo_the_technician(), entry=recording, reason="wrong handpiece")
    assert own_checks(microphone) == []
    with pytest.raises(ChangedMeanwhileError):
        write(recording, 400_000.0, tachometer, correction=None)


def test_a_reading_is_possible_after_the_job_went_on(microphone, tachometer):
    test = a_blank_test(a_job(), microphone=microphone)
    recording = heard(test, 400_000.0)
    bring_to(test.job, Stage.TORN_DOWN)
    assert write(recording, 400_000.0, tachometer).test == test


def test_a_correction_stands_in_for_the_wrong_one(theo, test, microphone, tachometer):
    recording = heard(test, 400_000.0)
    wrong = write(recording, 40_000.0, tachometer)
    test.job.refresh_from_db()
    answer = theo.post(
        reverse("correct", args=[test.job.code, "tachometer", wrong.pk]),
        {
            "version": test.job.version,
            "speed_rpm": "400,040",
            "instrument": tachometer.pk,
            "reason": "a digit lost",
        },
    )
    assert answer.status_code == 302
    (check,) = own_checks(microphone)
    (pair,) = check.pairs
    assert pair.pair.tachometer_rpm == 400_040.0
    assert pair.difference_percent == pytest.approx(-0.01, abs=1e-4)
    history = theo.get(test.job.get_absolute_url()).text
    assert "Tachometer beside a recording" in history
    assert "a digit lost" in history


def test_what_is_taken_back_makes_no_pair(theo, test, microphone, tachometer):
    row = write(heard(test, 400_000.0), 400_000.0, tachometer)
    test.job.refresh_from_db()
    answer = theo.post(
        reverse("take-back", args=[test.job.code, "tachometer", row.pk]),
        {"version": test.job.version, "reason": "another handpiece"},
    )
    assert answer.status_code == 302
    assert own_checks(microphone) == []


def test_a_recording_without_a_speed_makes_no_pair(theo, test, microphone, tachometer):
    recording = heard(test, None)
    write(recording, 400_000.0, tachometer)
    assert own_checks(microphone) == []
    page = theo.get(reverse("recording", args=[test.job.code, recording.pk])).text
    assert "makes no pair" in page


def test_pairs_are_grouped_by_microphone_and_stand(test, microphone, tachometer):
    other = a_blank_test(test.job, microphone=microphone, stand="Vice")
    same = a_blank_test(test.job, microphone=microphone, stand=" BENCH  stand ")
    nameless = a_blank_test(test.job, microphone=None)
    for one in (test, other, same, nameless):
        write(heard(one, 400_000.0), 400_000.0, tachometer)
    counts = {check.stand.strip().casefold(): len(check.pairs) for check in own_checks(microphone)}
    assert counts == {"bench  stand": 2, "vice": 1}


def test_a_corrected_set_up_moves_its_pairs(test, microphone, tachometer):
    recording = heard(test, 400_000.0)
    write(recording, 400_000.0, tachometer)
    new = Instrument.objects.create(name="new phone", kind=Instrument.Kind.MICROPHONE)
    add_test(
        by=theo_the_technician(),
        job=test.job,
        when=Test.When.AS_RECEIVED,
        drive_pressure_kpa=240.0,
        pressure_gauge=None,
        mounted=Test.Mounted.BLANK,
        microphone=new,
        correction=Correction(test, "it was the new one"),
    )
    assert own_checks(microphone) == []
    assert [len(check.pairs) for check in own_checks(new)] == [1]
    assert check_beside(recording).microphone == new


def test_a_test_that_was_taken_back_gives_no_pairs(test, microphone, tachometer):
    write(heard(test, 400_000.0), 400_000.0, tachometer)
    take_back(by=theo_the_technician(), entry=test, reason="another handpiece")
    assert own_checks(microphone) == []


def test_the_instruments_page_counts_until_ten(theo, test, microphone, tachometer):
    address = reverse("instrument", args=[microphone.pk])
    assert "No pairs yet" in theo.get(address).text
    pairs(test, tachometer, STEADY[:7])
    shown = theo.get(address).text
    assert "7 of 10 pairs" in shown
    assert 'class="agreement"' not in shown


def test_from_ten_pairs_on_the_page_shows_bias_and_limits(theo, test, microphone, tachometer):
    pairs(test, tachometer)
    shown = theo.get(reverse("instrument", args=[microphone.pk])).text
    assert "12 pairs" in shown
    assert 'class="agreement"' in shown
    assert "in place of the recorder’s clock" in shown
    assert "Own check" not in theo.get(reverse("instrument", args=[tachometer.pk])).text


def test_a_pair_that_does_not_fit_is_named_and_counted(theo, test, microphone, tachometer):
    pairs(test, tachometer, (*STEADY, 4_000))
    (check,) = own_checks(microphone)
    assert [pair.is_outlier for pair in check.pairs] == [False] * 12 + [True]
    shown = theo.get(reverse("instrument", args=[microphone.pk])).text
    assert "1 pair does not fit in with the others" in shown
    assert "13 pairs" in shown


def test_without_a_stated_error_the_page_says_what_is_wanted(theo, test, microphone):
    pairs(test, a_gauge(stated_error=None))
    shown = theo.get(reverse("instrument", args=[microphone.pk])).text
    assert "no error is stated for a tachometer" in shown


def test_more_pairs_need_no_more_queries(
    test, microphone, tachometer, django_assert_max_num_queries
):
    pairs(test, tachometer)
    with django_assert_max_num_queries(3):
        (check,) = own_checks(microphone)
    assert len(check.pairs) == 12


def test_ten_pairs_change_the_interval_and_leave_the_value(test, tachometer):
    before = keep(test).readings.get(key="free_running_speed").reading
    assert before.value == pytest.approx(RUN_RPM, rel=1e-4)
    assert "No own check" in text_of(before.why)
    pairs(test, tachometer, [difference + 200 for difference in STEADY])
    after = keep(test).readings.get(key="free_running_speed").reading
    assert after.value == before.value
    assert after.high - after.low > 4.0 * (before.high - before.low)
    assert "12 pairs with a tachometer" in text_of(after.why)
    other = a_blank_test(test.job, microphone=test.microphone, stand="vice")
    assert "No own check" in text_of(keep(other).readings.get(key=before.key).reading.why)


def test_away_from_the_label_pressure_the_check_is_still_said(microphone, tachometer):
    test = a_blank_test(
        a_job(a_handpiece(model=a_model())), microphone=microphone, drive_pressure_kpa=180.0
    )
    speed = keep(test).readings.get(key="free_running_speed").reading
    assert "240 kPa" in text_of(speed.why)
    assert "No own check" in text_of(speed.why)
