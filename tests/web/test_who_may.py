"""Who may open which address: the whole table, one row an address.

A new address without a row fails `test_every_address_has_its_row`. A row names the address by its
name, gives its arguments from the `World` below, and says whom it opens to:

- NOBODY_ASKED: everybody, signed in or not; the only exceptions, listed once more by name
- SIGNED_IN: everybody who is signed in
- ITS_OWN: the shop, and the office it belongs to; another office is told that nothing is there
- SHOP: people of the shop
- OWNER: the owner

`method` is post where a page can only be posted to; an empty form is sent.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from enum import Enum
from typing import Any

import pytest
from django.db import transaction
from django.http import HttpResponseBase
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from tests.people import bea_of_birch_lane, olga_the_owner, theo_the_technician
from tests.web.jobs.builders import a_handpiece, a_job, a_model, bring_to
from tests.web.sterilizers.builders import read_as
from turnwell.web.accounts.actions import make_sign_in_link
from turnwell.web.accounts.models import Role, User
from turnwell.web.evidence.models import StoredFile
from turnwell.web.handpieces.models import LimitOverride
from turnwell.web.jobs.models import IssuedPaper, JobNote, Recording, Stage
from turnwell.web.lives.models import IssuedOfficeReview
from turnwell.web.offices.models import Chair, Office
from turnwell.web.shop.models import Instrument, InstrumentCheck
from turnwell.web.sterilizers.models import (
    CycleRecord,
    FeedWater,
    Intake,
    IssuedReview,
    Plan,
    Sterilizer,
)
from turnwell.web.visits.models import Visit


class Opens(Enum):
    """To whom an address opens."""

    NOBODY_ASKED = frozenset({"anonymous", "other office", "own office", "technician", "owner"})
    SIGNED_IN = frozenset({"other office", "own office", "technician", "owner"})
    ITS_OWN = frozenset({"own office", "technician", "owner"})
    SHOP = frozenset({"technician", "owner"})
    OWNER = frozenset({"owner"})


ROLES = ("anonymous", "other office", "own office", "technician", "owner")
# Nobody is asked who they are here, and nowhere else.
OPEN_ADDRESSES = {"sign-in", "sign-in-link"}


class World:
    """One of everything, of the office at Birch Lane."""

    def __init__(self) -> None:
        theo = theo_the_technician()
        self.job = bring_to(a_job(a_handpiece()), Stage.ESTIMATED)
        self.office = Office.objects.get(name="Birch Lane")
        self.handpiece = self.job.handpiece
        self.test = self.job.tests.get()
        self.model = a_model()
        self.chair = Chair.objects.create(office=self.office, name="1")
        self.visit = Visit.objects.create(
            office=self.office, visited_on="2026-05-04", why="Teaching", entered_by=theo
        )
        self.limit = LimitOverride.objects.create(
            model=self.model,
            reading_key="free_running_speed",
            low=300_000.0,
            unit="rpm",
            reason="own trials",
            entered_by=theo,
        )
        self.instrument = Instrument.objects.create(name="Dial", kind="dial_gauge")
        self.check = InstrumentCheck.objects.create(
            instrument=self.instrument, checked_on="2026-05-04", entered_by=theo
        )
        self.note = JobNote.objects.create(job=self.job, text="Smells hot", entered_by=theo)
        self.file = _a_file("recording", "audio/wav")
        self.recording = Recording.objects.create(
            test=self.test, file=self.file, source="file", entered_by=theo
        )
        self.paper = IssuedPaper.objects.create(
            job=self.job,
            kind="estimate",
            file=_a_file("paper", "application/pdf"),
            issued_by=theo,
        )
        self.sterilizer = Sterilizer.objects.create(office=self.office, name="2")
        self.plan = Plan.objects.create(sterilizer=self.sterilizer, name="Wrapped", dry_s=1200.0)
        self.cycle_record = CycleRecord.objects.create(
            sterilizer=self.sterilizer,
            file=_a_file("cycle_record", "text/plain"),
            sha256="0" * 64,
            review=read_as().review,
            entered_by=theo,
        )
        self.intake = Intake.objects.create(sterilizer=self.sterilizer, begun_by=theo)
        self.cycle_review = IssuedReview.objects.create(
            sterilizer=self.sterilizer, file=_a_file("paper", "application/pdf"), issued_by=theo
        )
        self.office_review = IssuedOfficeReview.objects.create(
            office=self.office, file=_a_file("paper", "application/pdf"), issued_by=theo
        )
        self.feed_water = FeedWater.objects.create(
            sterilizer=self.sterilizer, sampled_on="2026-05-04", values={}, entered_by=theo
        )


def _a_file(kind: str, media_type: str) -> StoredFile:
    """Give a file of record whose bytes the disk has lost: its page says so to who may see it."""
    return StoredFile.objects.create(
        sha256="0" * 64,
        kind=kind,
        media_type=media_type,
        size_bytes=1,
        original_name=f"{kind}.bin",
        received_by=theo_the_technician(),
    )


@dataclass(frozen=True)
class Row:
    """One address of the table."""

    name: str
    opens: Opens
    args: Callable[[World], list[Any]] = field(default=lambda _world: [])
    method: str = "get"


def _pk(name: str) -> Callable[[World], list[Any]]:
    return lambda world: [getattr(world, name).pk]


def _code(name: str, *more: str) -> Callable[[World], list[Any]]:
    return lambda world: [getattr(world, name).code, *more]


def _test(*more: str) -> Callable[[World], list[Any]]:
    return lambda world: [world.job.code, world.test.pk, *more]


def _entry(kind: str, name: str) -> Callable[[World], list[Any]]:
    return lambda world: [world.job.code, kind, getattr(world, name).pk]


def _recording(world: World) -> list[Any]:
    return [world.job.code, world.recording.pk]


def _model_limit(world: World) -> list[Any]:
    return [world.model.pk, "free_running_speed"]


TURBINE = "air_turbine_4_hole"
TABLE = [
    # accounts
    Row("sign-in", Opens.NOBODY_ASKED),
    Row(
        "sign-in-link",
        Opens.NOBODY_ASKED,
        lambda _world: [make_sign_in_link(theo_the_technician())],
    ),
    Row("sign-out", Opens.SIGNED_IN, method="post"),
    Row("own-password", Opens.SIGNED_IN),
    Row("people", Opens.OWNER),
    Row("person-new", Opens.OWNER),
    Row("person", Opens.OWNER, lambda _world: [theo_the_technician().pk]),
    Row("person-password", Opens.OWNER, lambda _world: [theo_the_technician().pk], "post"),
    Row("person-active", Opens.OWNER, lambda _world: [bea_of_birch_lane().pk], "post"),
    Row("person-link", Opens.OWNER, lambda _world: [theo_the_technician().pk], "post"),
    # shop
    Row("today", Opens.SIGNED_IN),
    Row("search", Opens.SIGNED_IN),
    Row("code", Opens.ITS_OWN, _code("job")),
    Row("shop", Opens.SHOP),
    Row("shop-edit", Opens.OWNER),
    Row("instruments", Opens.SHOP),
    Row("instrument-new", Opens.SHOP),
    Row("instrument", Opens.SHOP, _pk("instrument")),
    Row("check-new", Opens.SHOP, _pk("instrument"), "post"),
    Row("check-take-back", Opens.SHOP, _pk("check")),
    # offices and visits
    Row("offices", Opens.SIGNED_IN),
    Row("office-new", Opens.SHOP),
    Row("office", Opens.ITS_OWN, _pk("office")),
    Row("office-edit", Opens.SHOP, _pk("office")),
    Row("round", Opens.SHOP),
    Row("round-warranty", Opens.SHOP),
    Row("round-behind", Opens.SHOP, lambda world: [world.handpiece.class_key, "bearings"]),
    Row("office-review", Opens.ITS_OWN, _pk("office")),
    Row("office-review-issue", Opens.SHOP, _pk("office"), "post"),
    Row("office-review-behind", Opens.ITS_OWN, lambda world: [world.office.pk, "returns"]),
    Row("office-review-visit", Opens.ITS_OWN, lambda world: [world.office.pk, world.visit.pk]),
    Row("office-review-paper", Opens.ITS_OWN, _pk("office_review")),
    Row("chair-add", Opens.SHOP, _pk("office"), "post"),
    Row("chair", Opens.SHOP, _pk("chair")),
    Row("chair-remove", Opens.SHOP, _pk("chair"), "post"),
    Row("visit-new", Opens.SHOP, _pk("office")),
    Row("visit", Opens.SHOP, _pk("visit")),
    Row("visit-take-back", Opens.SHOP, _pk("visit"), "post"),
    # handpieces, models, catalogue
    Row("handpieces", Opens.SIGNED_IN),
    Row("handpiece-new", Opens.SHOP),
    Row("handpiece", Opens.ITS_OWN, _code("handpiece")),
    Row("handpiece-edit", Opens.SHOP, _code("handpiece")),
    Row("handpiece-retire", Opens.SHOP, _code("handpiece")),
    Row("handpiece-label", Opens.SHOP, _code("handpiece")),
    Row("handpiece-back-in-use", Opens.SHOP, _code("handpiece"), "post"),
    Row("models", Opens.SHOP),
    Row("model-new", Opens.SHOP),
    Row("model", Opens.SHOP, _pk("model")),
    Row("model-edit", Opens.SHOP, _pk("model")),
    Row("model-limit", Opens.SHOP, _model_limit),
    Row("limit-take-back", Opens.SHOP, _pk("limit"), "post"),
    Row("catalogue", Opens.SIGNED_IN),
    Row("catalogue-causes", Opens.SIGNED_IN),
    Row("catalogue-findings", Opens.SIGNED_IN),
    Row("catalogue-complaints", Opens.SIGNED_IN),
    Row("catalogue-care", Opens.SIGNED_IN),
    Row("catalogue-bearings", Opens.SIGNED_IN),
    Row("catalogue-sources", Opens.SIGNED_IN),
    Row("catalogue-class", Opens.SIGNED_IN, lambda _world: [TURBINE]),
    Row("class-limit", Opens.SHOP, lambda _world: [TURBINE, "free_running_speed"]),
    # evidence
    Row("file", Opens.ITS_OWN, _pk("file")),
    Row("file-small", Opens.ITS_OWN, _pk("file")),
    Row("file-as-received", Opens.SHOP, _pk("file")),
    Row("file-erase", Opens.SHOP, _pk("file")),
    # sterilizers
    Row("sterilizers", Opens.SIGNED_IN),
    Row("sterilizer-new", Opens.SHOP, _pk("office")),
    Row("sterilizer", Opens.ITS_OWN, _pk("sterilizer")),
    Row("sterilizer-edit", Opens.SHOP, _pk("sterilizer")),
    Row("sterilizer-clock", Opens.SHOP, _pk("sterilizer")),
    Row("plan-new", Opens.SHOP, _pk("sterilizer")),
    Row("plan", Opens.SHOP, _pk("plan")),
    Row("plan-remove", Opens.SHOP, _pk("plan"), "post"),
    Row("cycle-files", Opens.SHOP, _pk("sterilizer"), "post"),
    Row("intake", Opens.SHOP, _pk("intake")),
    Row("intake-files", Opens.SHOP, _pk("intake"), "post"),
    Row("layout", Opens.SHOP, _pk("sterilizer")),
    Row("layout-forget", Opens.SHOP, _pk("sterilizer"), "post"),
    Row("cycle-records", Opens.ITS_OWN, _pk("sterilizer")),
    Row("cycle-record", Opens.ITS_OWN, _pk("cycle_record")),
    Row("cycle-record-plan", Opens.SHOP, _pk("cycle_record"), "post"),
    Row("cycle-record-load", Opens.SHOP, _pk("cycle_record")),
    Row("cycle-record-start", Opens.SHOP, _pk("cycle_record"), "post"),
    Row("cycle-record-again", Opens.SHOP, _pk("cycle_record"), "post"),
    Row("cycle-record-take-back", Opens.SHOP, _pk("cycle_record"), "post"),
    Row("cycle-review-issue", Opens.SHOP, _pk("sterilizer"), "post"),
    Row("cycle-record-review", Opens.SHOP, _pk("cycle_record"), "post"),
    Row("cycle-review", Opens.ITS_OWN, _pk("cycle_review")),
    Row("feed-water", Opens.SHOP, _pk("sterilizer")),
    Row("feed-water-take-back", Opens.SHOP, _pk("feed_water"), "post"),
    # jobs
    Row("take-in", Opens.SHOP),
    Row("job", Opens.ITS_OWN, _code("job")),
    Row("job-move", Opens.SHOP, _code("job", "agreed")),
    Row("waiting", Opens.SHOP, _code("job")),
    Row("waiting-stop", Opens.SHOP, _code("job"), "post"),
    Row("note-new", Opens.SHOP, _code("job")),
    Row("part-new", Opens.SHOP, _code("job")),
    Row("run-in-new", Opens.SHOP, _code("job")),
    Row("test-new", Opens.SHOP, _code("job", "final")),
    Row("test-leave-out", Opens.SHOP, _code("job", "final")),
    Row("measure", Opens.SHOP, _test()),
    Row("measure-one", Opens.SHOP, _test("free_running_speed")),
    Row("findings", Opens.SHOP, _code("job")),
    Row("own-view", Opens.SHOP, _code("job")),
    Row("ladder", Opens.SHOP, _code("job"), "post"),
    Row("cause", Opens.SHOP, _code("job")),
    Row("option-new", Opens.SHOP, _code("job")),
    Row("job-worth", Opens.SHOP, _code("job"), "post"),
    Row("job-worth-behind", Opens.SHOP, lambda world: [world.job.code, "bearings"]),
    Row("answer", Opens.ITS_OWN, _code("job")),
    Row("paper-issue", Opens.SHOP, _code("job", "estimate"), "post"),
    Row("job-label", Opens.SHOP, _code("job")),
    Row("paper", Opens.ITS_OWN, _pk("paper")),
    Row("record", Opens.SHOP, _test()),
    Row("recording", Opens.ITS_OWN, _recording),
    Row("recording-again", Opens.SHOP, _recording, "post"),
    Row("tachometer-new", Opens.SHOP, _recording, "post"),
    Row("correct", Opens.SHOP, _entry("note", "note")),
    Row("take-back", Opens.SHOP, _entry("note", "note")),
]


def _quill_of_quarry_road() -> User:
    office, _ = Office.objects.get_or_create(name="Quarry Road")
    return User.objects.create_user("quill", role=Role.OFFICE, office=office)


PEOPLE = {
    "other office": _quill_of_quarry_road,
    "own office": bea_of_birch_lane,
    "technician": theo_the_technician,
    "owner": olga_the_owner,
}


def _addresses(patterns: list[URLPattern | URLResolver]) -> Iterator[str]:
    for pattern in patterns:
        if isinstance(pattern, URLResolver):
            yield from _addresses(pattern.url_patterns)
        else:
            assert pattern.name, f"{pattern.pattern} has no name"
            yield pattern.name


def test_every_address_has_its_row() -> None:
    addresses = sorted(_addresses(get_resolver().url_patterns))
    assert sorted(row.name for row in TABLE) == addresses


def test_only_the_listed_addresses_ask_nobody() -> None:
    assert {row.name for row in TABLE if row.opens is Opens.NOBODY_ASKED} == OPEN_ADDRESSES


def _said(answer: HttpResponseBase) -> str:
    """Give what an answer means to the one who asked."""
    if answer.status_code == 302 and answer.headers["Location"].startswith("/sign-in/?"):
        return "sign in"
    if answer.status_code in {403, 404}:
        return str(answer.status_code)
    assert answer.status_code not in {405, 500}, answer.status_code
    return "in"


def _expected(row: Row, role: str) -> set[str]:
    if role in row.opens.value:
        return {"in"}
    if role == "anonymous":
        return {"sign in"}
    return {"404"} if row.opens is Opens.ITS_OWN else {"403", "404"}


@pytest.mark.django_db
def test_each_address_opens_as_the_table_says(subtests: pytest.Subtests) -> None:
    world = World()
    clients = {"anonymous": Client()}
    for role, made in PEOPLE.items():
        clients[role] = Client()
        clients[role].force_login(made())
    for row in TABLE:
        for role in ROLES:
            with subtests.test(address=row.name, role=role):
                before = transaction.savepoint()
                client = Client()
                client.cookies = clients[role].cookies.copy()
                address = reverse(row.name, args=row.args(world))
                answer = getattr(client, row.method)(address)
                transaction.savepoint_rollback(before)
                assert _said(answer) in _expected(row, role)
