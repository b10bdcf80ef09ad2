"""Papers of a job: issued once, kept as bytes, handed out to whom they concern."""

import re
from datetime import timedelta
from decimal import Decimal
from io import BytesIO

import pypdf
import pytest
from django.contrib.messages import get_messages
from django.urls import reverse
from django.utils import timezone

from tests.people import bea_of_birch_lane, olga_the_owner, theo_the_technician
from tests.pictures.listenings import a_full_listening, a_listening
from tests.web.jobs.builders import (
    a_blank_test,
    a_handpiece,
    a_job,
    a_model,
    bring_to,
    measure_speed,
)
from turnwell.errors import InputError, NotAllowedError, StageError
from turnwell.measure import Basis, Limit, reading
from turnwell.web.accounts.models import Role, User
from turnwell.web.evidence import storage
from turnwell.web.evidence.actions import erase_file
from turnwell.web.evidence.models import StoredFile
from turnwell.web.jobs import actions
from turnwell.web.jobs.actions.papers import issue_paper
from turnwell.web.jobs.analysis.papers import sheet_values
from turnwell.web.jobs.models import IssuedPaper, Recording, Stage, StoredReading, Test
from turnwell.web.offices.models import Office
from turnwell.web.shop.models import Shop

pytestmark = pytest.mark.django_db
SHEET, ESTIMATE = IssuedPaper.Kind.TEST_SHEET, IssuedPaper.Kind.ESTIMATE


@pytest.fixture(autouse=True)
def _own_data_folder(settings, tmp_path):
    settings.EVIDENCE_ROOT = tmp_path / "evidence"


@pytest.fixture
def proved():
    return bring_to(a_job(a_handpiece(model=a_model())), Stage.PROVED)


def issued(job, kind=SHEET, **more):
    return issue_paper(by=theo_the_technician(), job=job, kind=kind, **more)


def words_of(paper):
    with storage.path_of(paper.file.sha256).open("rb") as file:
        pages = [page.extract_text() for page in pypdf.PdfReader(BytesIO(file.read())).pages]
    return " ".join(" ".join(pages).split())


def someone_of_another_office():
    office, _ = Office.objects.get_or_create(name="Elm Street")
    return User.objects.create_user("ann", role=Role.OFFICE, office=office)


# ── issuing ──────────────────────────────────────────────────────────────


def test_a_test_sheet_is_kept_with_who_and_when(proved):
    paper = issued(proved)
    assert (paper.kind, paper.issued_by) == (SHEET, theo_the_technician())
    assert (paper.file.kind, paper.file.media_type) == (StoredFile.Kind.PAPER, "application/pdf")
    text = words_of(paper)
    for part in ("Model A", "T-0", "Birch Lane", "It growls.", "240 kPa", "Test blank",
                 "341,000", "401,000", "cartridge"):  # fmt: skip
        assert part in text, part


def test_it_is_never_computed_again(client):
    job = bring_to(a_job(), Stage.AGREED)
    paper = issued(job)
    before = storage.path_of(paper.file.sha256).read_bytes()
    actions.use_part(by=theo_the_technician(), job=job, name="an O-ring more")
    client.force_login(theo_the_technician())
    answer = client.get(reverse("paper", args=[paper.pk]))
    assert answer.content == before
    assert "an O-ring more" in words_of(issued(job))
    assert "an O-ring more" not in words_of(paper)


def test_a_test_left_out_still_gives_a_sheet():
    job = a_job()
    actions.leave_out_test(
        by=theo_the_technician(), job=job, when=Test.When.AS_RECEIVED, because="seized"
    )
    assert "Left out: seized" in words_of(issued(job))


def test_without_any_test_there_is_no_sheet():
    with pytest.raises(StageError, match="has no test yet"):
        issued(a_job())


def test_without_an_option_there_is_no_estimate():
    with pytest.raises(StageError, match="has no option yet"):
        issued(a_job(), ESTIMATE)


def test_an_estimate_shows_prices_and_the_answer():
    job = bring_to(a_job(), Stage.ESTIMATED)
    assert "We agree to option" in words_of(issued(job, ESTIMATE))
    option = job.options.get()
    actions.answer_estimate(
        by=theo_the_technician(), job=job, answer="agreed", option=option, answered_by="Bea"
    )
    text = words_of(issued(job, ESTIMATE))
    assert "135.00 USD" in text
    assert "Agreed to “New cartridge” by Bea" in text


def test_a_corrected_option_is_left_off():
    job = bring_to(a_job(), Stage.ESTIMATED)
    actions.take_back(
        by=theo_the_technician(), entry=job.options.get(), reason="typed for another job"
    )
    actions.add_option(
        by=theo_the_technician(), job=job, kind="bearings",
        parts_price=Decimal(10), labour_price=Decimal(5),
    )  # fmt: skip
    text = words_of(issued(job, ESTIMATE))
    assert "New bearings" in text
    assert "New cartridge" not in text


def test_an_office_may_not_issue(proved):
    with pytest.raises(NotAllowedError):
        issue_paper(by=bea_of_birch_lane(), job=proved, kind=SHEET)
    assert not IssuedPaper.objects.exists()


@pytest.mark.parametrize("kind", ["", "care_card"])
def test_an_unknown_paper_is_refused(proved, kind):
    with pytest.raises(InputError, match="is no paper"):
        issued(proved, kind)


def test_a_paper_of_the_future_is_refused(proved):
    with pytest.raises(InputError, match="future"):
        issued(proved, at=timezone.now() + timedelta(days=1))


def test_nothing_is_half_kept_when_the_row_cannot_be_written(proved, monkeypatch):
    def broken(**_fields):
        raise RuntimeError("no row")

    monkeypatch.setattr(IssuedPaper.objects, "create", broken)
    with pytest.raises(RuntimeError, match="no row"):
        issued(proved)
    assert not StoredFile.objects.filter(kind=StoredFile.Kind.PAPER).exists()


# ── what is gathered ─────────────────────────────────────────────────────


def values(job, **shop):
    return sheet_values(job, shop=Shop(pk=1, **shop), by=olga_the_owner(), at=timezone.now())


def test_dates_are_those_of_the_offices_wall(proved):
    Office.objects.update(time_zone="Pacific/Kiritimati")  # 14 hours ahead
    proved.refresh_from_db()
    at = timezone.now().replace(hour=12)
    sheet = sheet_values(proved, shop=Shop(pk=1), by=olga_the_owner(), at=at)
    assert sheet.issued_at.date() == (at + timedelta(hours=14)).date()


def test_pressures_come_in_the_shops_unit(proved):
    # 240 kPa / 6.894757 kPa per psi = 34.8 psi: NIST SP 811, appendix B.8.
    assert ("Drive pressure, running", "34.8 psi") in values(
        proved, pressure_unit="psi"
    ).before.lines


def test_the_qr_code_carries_the_address_where_one_is_set(proved, monkeypatch, settings):
    assert values(proved).job.link == proved.code
    monkeypatch.setattr(
        "turnwell.web.shared.labels.settings",
        type("S", (), {"ENVIRONMENT": type("E", (), {"address": "https://bench.example"})}),
    )
    assert values(proved).job.link == f"https://bench.example/c/{proved.code}/"


def test_other_set_ups_are_named_and_not_drawn_over_each_other():
    job = bring_to(a_job(a_handpiece(model=a_model())), Stage.REBUILT)
    final = a_blank_test(job, Test.When.FINAL, is_spray_on=True)
    measure_speed(final)
    for test in job.tests.all():
        Recording.objects.create(
            test=test,
            file=StoredFile.objects.create(
                sha256="0" * 64, kind="recording", media_type="audio/wav", size_bytes=1,
                received_by=theo_the_technician(),
            ),
            source="file",
            listening=a_full_listening(),
            entered_by=theo_the_technician(),
        )  # fmt: skip
    sheet = values(job)
    assert sheet.differences == ("spray: off before, on after",)
    assert [one.before for one in (sheet.trace, sheet.coast, sheet.orders)] == [None, None, None]
    assert [(bool(pair.before), bool(pair.after)) for pair in sheet.pairs] == [(True, True)]


def test_the_same_set_up_is_drawn_over_each_other(proved):
    for test in proved.tests.all():
        file = StoredFile.objects.create(
            sha256="0" * 64, kind="recording", media_type="audio/wav", size_bytes=1,
            received_by=theo_the_technician(),
        )  # fmt: skip
        Recording.objects.create(
            test=test, file=file, source="file", listening=a_full_listening(),
            entered_by=theo_the_technician(),
        )  # fmt: skip
    sheet = values(proved)
    assert sheet.differences == ()
    assert None not in [one.before for one in (sheet.trace, sheet.coast, sheet.orders)]
    assert [topic for topic, _ in sheet.said] == ["Bearing", "Rotation line", "Roughness"]


def test_further_figures_stay_off_the_sheet_and_a_limit_brings_them_onto_it(proved):
    test = proved.tests.get(when=Test.When.FINAL)
    limit = Limit(None, 2.0, "own", Basis.OWN)
    for key, held in (("coast_down_deceleration_50", None), ("coast_down_deceleration_20", limit)):
        figure = reading(key, 1.0, 0.9, 1.1, "rpm/s", limit=held)
        StoredReading.objects.create(
            test=test, key=key, value=1.0, verdict=figure.verdict, record=figure.as_record(),
            core="sound", core_version="1", measurement=test.measurements.get(),
        )  # fmt: skip
    shown = {pair.judged.key: pair for pair in values(proved).pairs}
    assert set(shown) == {"free_running_speed", "coast_down_deceleration_20"}
    assert shown["coast_down_deceleration_20"].may_stay_open
    assert not shown["free_running_speed"].may_stay_open


def test_recordings_of_an_earlier_version_bring_their_trace_alone(proved):
    test = proved.tests.get(when=Test.When.FINAL)
    file = StoredFile.objects.create(
        sha256="0" * 64, kind="recording", media_type="audio/wav", size_bytes=1,
        received_by=theo_the_technician(),
    )  # fmt: skip
    Recording.objects.create(
        test=test, file=file, source="file", listening=a_listening(),
        entered_by=theo_the_technician(),
    )  # fmt: skip
    sheet = values(proved)
    assert sheet.trace is not None
    assert (sheet.coast, sheet.orders, sheet.said) == (None, None, ())


def test_the_cause_brings_its_advice(proved):
    actions.confirm_cause(
        by=theo_the_technician(), job=proved, cause_key="too_little_lubricant",
        contributing=["drive_pressure_high"], words="Bone dry.",
    )  # fmt: skip
    sheet = values(proved)
    assert sheet.cause.name == "Too little lubricant"
    assert sheet.cause.words == "Bone dry."
    assert len(sheet.advice) == 2
    assert sheet.cautions


# ── pages ────────────────────────────────────────────────────────────────


def issue_address(job, kind="test_sheet"):
    return reverse("paper-issue", args=[job.code, kind])


def test_the_page_issues_and_goes_back_to_the_papers(proved, client):
    client.force_login(theo_the_technician())
    answer = client.post(issue_address(proved))
    assert answer.status_code == 302
    assert answer["Location"].endswith(f"{proved.get_absolute_url()}#papers")
    assert proved.papers.count() == 1


def test_the_page_says_why_it_cannot_issue(client):
    client.force_login(theo_the_technician())
    job = a_job()
    answer = client.post(issue_address(job, "estimate"))
    assert answer.status_code == 302
    (said,) = get_messages(answer.wsgi_request)
    assert "has no option yet; write one with its price first." in said.message
    assert not job.papers.exists()


def test_issuing_needs_a_post(proved, client):
    client.force_login(theo_the_technician())
    assert client.get(issue_address(proved)).status_code == 405


def test_an_office_is_refused_on_the_page(proved, client):
    client.force_login(bea_of_birch_lane())
    assert client.post(issue_address(proved)).status_code == 403


@pytest.mark.parametrize("kind", ["care_card", "TEST_SHEET"])
def test_an_unknown_paper_has_no_address(proved, client, kind):
    client.force_login(theo_the_technician())
    assert client.post(issue_address(proved, kind)).status_code == 404


@pytest.mark.parametrize("who", [theo_the_technician, olga_the_owner, bea_of_birch_lane])
def test_a_paper_is_handed_to_whom_it_concerns(proved, client, who):
    paper = issued(proved)
    client.force_login(who())
    answer = client.get(reverse("paper", args=[paper.pk]))
    assert answer.status_code == 200
    assert answer["Content-Type"] == "application/pdf"
    assert re.search(rf'filename="test-sheet-{proved.code}\.pdf"', answer["Content-Disposition"])
    assert answer.content.startswith(b"%PDF-")


def test_another_office_does_not_learn_that_it_exists(proved, client):
    paper = issued(proved)
    client.force_login(someone_of_another_office())
    there = client.get(reverse("paper", args=[paper.pk]))
    nowhere = client.get(reverse("paper", args=[paper.pk + 999]))
    assert (there.status_code, nowhere.status_code) == (404, 404)


def test_nobody_signed_in_is_sent_to_sign_in(proved, client):
    paper = issued(proved)
    answer = client.get(reverse("paper", args=[paper.pk]))
    assert answer.status_code == 302
    assert "sign-in" in answer["Location"]


def test_an_erased_paper_says_so(proved, client):
    paper = issued(proved)
    erase_file(by=olga_the_owner(), file=paper.file, why="issued for another handpiece")
    client.force_login(theo_the_technician())
    answer = client.get(reverse("paper", args=[paper.pk]))
    assert answer.status_code == 410
    assert "issued for another handpiece" in answer.content.decode()


def test_a_paper_missing_from_the_folder_says_what_to_do(proved, client):
    paper = issued(proved)
    storage.path_of(paper.file.sha256).unlink()
    client.force_login(theo_the_technician())
    answer = client.get(reverse("paper", args=[paper.pk]))
    assert answer.status_code == 503
    assert "restore a backup" in answer.content.decode()


def test_a_label_of_a_job_prints_for_the_shop_alone(proved, client):
    address = reverse("job-label", args=[proved.code])
    client.force_login(theo_the_technician())
    answer = client.get(address)
    assert answer["Content-Type"] == "application/pdf"
    text = pypdf.PdfReader(BytesIO(answer.content)).pages[0].extract_text()
    assert f"{proved.code[0]} {proved.code[1:-1]}-{proved.code[-1]}" in text
    assert client.post(address).status_code == 405
    client.force_login(bea_of_birch_lane())
    assert client.get(address).status_code == 403
