"""The invented shop goes through the real actions and analysis."""

from datetime import UTC, datetime, timedelta

import pytest

from turnwell.demo import fill
from turnwell.demo.story import ON_THE_BENCH
from turnwell.measure import Verdict
from turnwell.web.handpieces.models import Handpiece
from turnwell.web.jobs.analysis.own_check import own_checks
from turnwell.web.jobs.models import (
    ConfirmedCause,
    Job,
    Recording,
    StageChange,
    StoredReading,
    Test,
)
from turnwell.web.offices.models import Office
from turnwell.web.shop.models import Instrument
from turnwell.web.sterilizers.analysis.history import history_of
from turnwell.web.sterilizers.models import CycleRecord, IntakeFile, Sterilizer
from turnwell.web.sterilizers.timeline import trained_on

NOW = datetime(2026, 3, 2, 15, 0, tzinfo=UTC)

pytestmark = pytest.mark.django_db


@pytest.fixture
def _shop(settings: object, tmp_path: object) -> None:
    settings.EVIDENCE_ROOT = tmp_path / "evidence"  # type: ignore[attr-defined,operator]
    fill(seed=11, now=NOW)


@pytest.mark.usefixtures("_shop")
def test_a_year_of_a_shop_stands_in_the_book() -> None:
    assert Office.objects.count() == 8
    assert Office.objects.filter(is_active=False).count() == 1
    assert 60 <= Handpiece.objects.count() <= 80
    assert 1 <= Handpiece.objects.filter(retired_on__isnull=False).count() <= 6
    stages = list(Job.objects.open().order_by("stage").values_list("stage", flat=True))
    assert stages == sorted(stage.value for stage, _, _ in ON_THE_BENCH)
    assert Job.objects.filter(ended_at__isnull=False).count() >= 40
    first = Job.objects.order_by("taken_in_at").first()
    assert first is not None
    assert NOW - first.taken_in_at > timedelta(days=2.5 * 365)

    # Most stays name their count of cycles, which only grows; not all came for a fault.
    counts = list(
        Job.objects.filter(known_cycles__isnull=False)
        .order_by("handpiece", "taken_in_at")
        .values_list("handpiece", "known_cycles")
    )
    assert counts == sorted(counts)
    assert 0.5 < len(counts) / Job.objects.count() < 0.95
    assert set(Job.objects.values_list("reason", flat=True)) == {"fault", "planned", "test_only"}

    # Nothing is dated after the present, and every recording was listened to.
    assert not StageChange.objects.filter(at__gt=NOW).exists()
    assert not Test.objects.filter(entered_at__gt=NOW).exists()
    recordings = list(Recording.objects.all())
    assert len(recordings) >= 10
    assert all(recording.core_version and recording.listening for recording in recordings)

    # The speeds come out of the sound as they went in: a repaired one is near its label.
    finals = StoredReading.objects.filter(
        test__when=Test.When.FINAL, key="free_running_speed", recording__isnull=False
    )
    assert finals.exists()
    for row in finals.select_related("test__job__handpiece__model"):
        label = row.test.job.handpiece.model.label_speed_rpm
        assert row.value == pytest.approx(label, rel=0.05)
        assert row.verdict == Verdict.WITHIN

    # Every sterilizer's records were read; the story of the Fridays and of the pump comes out.
    assert not IntakeFile.objects.exclude(state=IntakeFile.State.READ).exists()
    fridays, pump, plain = (
        history_of(row, trained_on=trained_on(row.office))
        for row in Sterilizer.objects.order_by("pk")
    )
    assert fridays.says[1].startswith("Friday afternoon: drying cut short in")
    assert fridays.turn is not None
    assert fridays.turn.is_shown
    assert "Lowest pressure while drying rose" in " ".join(pump.says)
    assert plain.habits.every.short == 0
    assert not CycleRecord.objects.filter(started_at__gt=NOW).exists()

    # The own check of the microphone has begun.
    (check,) = own_checks(Instrument.objects.get(kind=Instrument.Kind.MICROPHONE))
    assert len(check.pairs) >= 5
    assert all(abs(pair.difference_percent) < 0.5 for pair in check.pairs)
    assert ConfirmedCause.objects.values("cause_key").distinct().count() >= 6
