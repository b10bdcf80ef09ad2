"""Findings, the own view, the ladder as shown, the cause confirmed."""

from io import BytesIO

import pytest
from PIL import Image

from tests.people import bea_of_birch_lane, theo_the_technician
from tests.web.jobs.builders import a_job, bring_to
from turnwell.errors import InputError, NotAllowedError, StageError
from turnwell.web.evidence.actions import store_file
from turnwell.web.evidence.models import StoredFile
from turnwell.web.jobs import actions
from turnwell.web.jobs.models import ConfirmedCause, Finding, Job, ShownLadder, Stage

pytestmark = pytest.mark.django_db


def find(job: Job, key: str = "rust_on_bearings", answer: str = "seen", **more: object) -> Finding:
    return actions.write_finding(
        **{"by": theo_the_technician(), "job": job, "key": key, "answer": answer} | more
    )


def confirm(job: Job, cause_key: str, **more: object) -> ConfirmedCause:
    return actions.confirm_cause(
        **{"by": theo_the_technician(), "job": job, "cause_key": cause_key} | more
    )


def a_photo() -> BytesIO:
    sent = BytesIO()
    Image.new("RGB", (8, 6), "grey").save(sent, "PNG")
    sent.seek(0)
    return sent


def a_kept_photo() -> StoredFile:
    return store_file(
        by=theo_the_technician(),
        kind=StoredFile.Kind.PHOTO,
        content=a_photo(),
        original_name="head.png",
    )


def test_a_finding_is_answered_and_answered_anew() -> None:
    job = a_job()
    first = find(job, photos=[a_kept_photo()])
    second = find(job, answer="not_seen", note="wiped clean, was polish")

    assert list(job.findings.standing()) == [second]
    assert second.corrects == first
    assert second.photos.count() == 1


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"key": "made_of_cheese"}, "no finding"),
        ({"answer": "perhaps"}, "no answer"),
        ({"known": "dreamt"}, "no answer"),
        ({"note": "x" * 301}, "at most 300"),
        ({"note": "a\x00"}, "control character"),
    ],
)
def test_it_refuses_bad_findings(fields: dict[str, object], said: str) -> None:
    job = a_job()
    with pytest.raises(InputError, match=said):
        find(job, **fields)
    assert not job.findings.exists()


def test_only_photos_are_photos() -> None:
    wrong = a_kept_photo()
    wrong.kind = StoredFile.Kind.PAPER
    with pytest.raises(InputError, match="is none"):
        find(a_job(), photos=[wrong])


def test_an_office_finds_and_confirms_nothing() -> None:
    job = a_job()
    bea = bea_of_birch_lane()
    with pytest.raises(NotAllowedError):
        find(job, by=bea)
    with pytest.raises(NotAllowedError):
        actions.write_findings(by=bea, job=job, answers=[])
    with pytest.raises(NotAllowedError):
        actions.write_own_view(by=bea, job=job)
    with pytest.raises(NotAllowedError):
        actions.show_ladder(by=bea, job=job)
    with pytest.raises(NotAllowedError):
        confirm(job, "worn_out", by=bea)


def test_many_answers_are_written_at_once_and_only_where_they_changed() -> None:
    job, by = a_job(), theo_the_technician()
    kept = find(job, "feel_rough")
    find(job, "cage_broken")
    given = [
        actions.GivenAnswer("feel_rough", Finding.Answer.SEEN),
        actions.GivenAnswer("cage_broken", None),
        actions.GivenAnswer("bearings_dry", Finding.Answer.NOT_SEEN),
        actions.GivenAnswer("chuck_worn", None),
        actions.GivenAnswer(
            "debris_packed",
            Finding.Answer.SEEN,
            photos=[actions.SentPhoto(a_photo(), "head.png")],
        ),
    ]

    assert actions.write_findings(by=by, job=job, answers=given) == 3
    standing = {row.key: row for row in job.findings.standing()}
    assert standing["feel_rough"] == kept
    assert set(standing) == {"feel_rough", "bearings_dry", "debris_packed"}
    assert standing["debris_packed"].photos.get().file.kind == StoredFile.Kind.PHOTO


def test_of_many_answers_with_a_bad_one_none_is_kept() -> None:
    job = a_job()
    version = job.version
    given = [
        actions.GivenAnswer("feel_rough", Finding.Answer.SEEN),
        actions.GivenAnswer(
            "bearings_dry",
            Finding.Answer.SEEN,
            photos=[actions.SentPhoto(BytesIO(b"no picture"), "x.png")],
        ),
    ]
    with pytest.raises(InputError):
        actions.write_findings(by=theo_the_technician(), job=job, answers=given)
    assert not Finding.objects.exists()
    assert not StoredFile.objects.exists()
    job.refresh_from_db()
    assert job.version == version


def test_the_own_view_is_asked_before_the_ladder() -> None:
    job = bring_to(a_job(), Stage.TORN_DOWN)
    with pytest.raises(StageError, match="own view first"):
        actions.show_ladder(by=theo_the_technician(), job=job)
    assert not ShownLadder.objects.exists()

    actions.write_own_view(by=theo_the_technician(), job=job)
    shown = actions.show_ladder(by=theo_the_technician(), job=job)
    assert shown.record["causes"][0]["probability"] > 0
    assert shown.core_version


@pytest.mark.parametrize(
    ("view", "is_ladder_shown", "cause", "is_own", "is_after"),
    [
        ("worn_out", True, "worn_out", True, True),
        ("worn_out", True, "debris_baked_in", False, True),
        ("", True, "worn_out", False, True),
        ("worn_out", False, "worn_out", True, False),
        (None, False, "worn_out", False, False),
    ],
)
def test_it_is_kept_whose_view_the_cause_is(
    view: str | None, is_ladder_shown: bool, cause: str, is_own: bool, is_after: bool
) -> None:
    job, by = bring_to(a_job(), Stage.TORN_DOWN), theo_the_technician()
    if view is not None:
        actions.write_own_view(by=by, job=job, cause_key=view)
    if is_ladder_shown:
        actions.show_ladder(by=by, job=job)

    made = confirm(job, cause)
    assert (made.is_own_view, made.is_after_ladder) == (is_own, is_after)


def test_a_view_written_after_the_ladder_is_no_own_view() -> None:
    job, by = bring_to(a_job(), Stage.TORN_DOWN), theo_the_technician()
    actions.write_own_view(by=by, job=job)
    actions.show_ladder(by=by, job=job)
    actions.write_own_view(by=by, job=job, cause_key="worn_out")

    assert not confirm(job, "worn_out").is_own_view


def test_a_cause_named_anew_corrects_the_earlier() -> None:
    job = bring_to(a_job(), Stage.TORN_DOWN)
    first = confirm(job, "worn_out", contributing=["too_little_lubricant"])
    second = confirm(job, "debris_baked_in")

    assert first.contributing == ["too_little_lubricant"]
    assert list(job.causes.standing()) == [second]
    assert second.corrects == first


@pytest.mark.parametrize(
    ("cause", "fields", "said"),
    [
        ("gremlins", {}, "no cause"),
        ("worn_out", {"contributing": ["gremlins"]}, "no cause"),
        ("worn_out", {"contributing": ["worn_out"]}, "contribute to itself"),
        ("something_else", {}, "is empty"),
        ("worn_out", {"words": "x" * 301}, "at most 300"),
    ],
)
def test_it_refuses_bad_causes(cause: str, fields: dict[str, object], said: str) -> None:
    job = bring_to(a_job(), Stage.TORN_DOWN)
    with pytest.raises(InputError, match=said):
        confirm(job, cause, **fields)
    assert not ConfirmedCause.objects.exists()


def test_an_unknown_own_view_is_refused() -> None:
    with pytest.raises(InputError, match="no cause"):
        actions.write_own_view(by=theo_the_technician(), job=a_job(), cause_key="gremlins")
