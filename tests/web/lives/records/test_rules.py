"""When a handpiece is observed and at risk: small shops by hand, and a plain reckoning beside."""

from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.web.lives.records.shop import NOW, a_stay, a_visit, day, records, tool
from turnwell.web.jobs.models import Job, Stage
from turnwell.web.lives.records.rules import Stays, watched
from turnwell.web.lives.records.tables import REASONS, STAGES, UNKNOWN
from turnwell.web.offices.models import Office

book = pytest.mark.django_db
Reason = Job.Reason


def returned(shop) -> list[int]:
    return shop.returns.job.tolist()


def at_risk(shop) -> list[tuple[float, float]]:
    """Give the stretches in days from noon of the first of 2024."""
    zero = day(0).timestamp()
    pairs = zip(shop.stretches.start_s, shop.stretches.stop_s, strict=True)
    return [((start - zero) / 86_400, (stop - zero) / 86_400) for start, stop in pairs]


TODAY = (NOW - day(0)).total_seconds() / 86_400


@book
def test_the_stay_by_which_it_became_known_is_no_return():
    one = tool()
    a_stay(one, 10, 12)
    assert returned(records()) == []
    assert at_risk(records()) == [(12, TODAY)]


@book
def test_a_fault_after_the_first_hand_back_is_a_return():
    one = tool()
    entry = a_stay(one, 10, 12)
    later = a_stay(one, 50, 53)
    shop = records()
    assert returned(shop) == [later.pk]
    assert shop.returns.previous_job.tolist() == [entry.pk]
    assert at_risk(shop) == [(12, 50), (53, TODAY)]
    assert shop.stretches.ends_in_return.tolist() == [True, False]
    assert shop.stretches.job.tolist() == [later.pk, -1]


@book
def test_a_stay_handed_back_on_the_day_it_came_is_still_its_entry():
    a_stay(tool(), 10, 10.2)
    assert returned(records()) == []


@book
def test_observation_begins_with_the_end_of_the_day_its_cycles_were_counted():
    one = tool(known_cycles=100, known_cycles_on=day(20).date())
    stay = a_stay(one, 50, 51)
    shop = records()
    assert returned(shop) == [stay.pk]
    assert at_risk(shop) == [(20.5, 50), (51, TODAY)]


@book
def test_the_day_of_the_count_ends_by_the_clock_of_the_office():
    Office.objects.create(name="Far East", time_zone="Pacific/Auckland")
    tool("Far East", known_cycles=100, known_cycles_on=day(20).date())
    # Thirteen hours ahead in January: midnight there is eleven in the morning in UTC.
    assert at_risk(records())[0][0] == pytest.approx(20 - 1 / 24)


@book
def test_what_came_in_on_the_day_of_the_count_is_its_entry():
    one = tool(known_cycles=100, known_cycles_on=day(20).date())
    a_stay(one, 20, 22)
    assert returned(records()) == []
    assert at_risk(records()) == [(22, TODAY)]


@book
def test_never_seen_back_nor_counted_it_is_not_observed():
    tool(in_service_since=day(0).date())
    a_stay(tool(), 10, None)
    shop = records()
    assert shop.stretches.count == 0
    assert shop.tied.watch.observed_s.tolist() == [UNKNOWN, UNKNOWN]


@book
@pytest.mark.parametrize("reason", [Reason.TEST_ONLY, Reason.PLANNED, Reason.BACK_FROM_LOAN])
def test_a_stay_for_anything_but_a_fault_is_no_return_and_its_days_are_not_at_risk(reason):
    one = tool()
    a_stay(one, 10, 12)
    a_stay(one, 50, 53, reason=reason)
    shop = records()
    assert returned(shop) == []
    assert at_risk(shop) == [(12, 50), (53, TODAY)]


@book
def test_handed_back_unrepaired_it_is_not_observed_until_handed_back_repaired():
    one = tool()
    a_stay(one, 10, 12)
    failed = a_stay(one, 50, 53, unrepaired=True)
    a_stay(one, 100, 104)
    again = a_stay(one, 150, 155)
    shop = records()
    assert returned(shop) == [failed.pk, again.pk]
    assert at_risk(shop) == [(12, 50), (104, 150), (155, TODAY)]
    assert shop.stretches.follows_on.tolist() == [False, False, True]


@book
def test_a_test_alone_puts_nothing_in_order():
    one = tool()
    a_stay(one, 10, 12, unrepaired=True)
    a_stay(one, 50, 53, reason=Reason.TEST_ONLY)
    a_stay(one, 100, 104)
    shop = records()
    assert returned(shop) == []
    assert at_risk(shop) == [(104, TODAY)]


@book
def test_observation_ends_with_the_day_it_was_retired():
    one = tool(retired_on=day(80).date())
    a_stay(one, 10, 12)
    assert at_risk(records()) == [(12, 80.5)]


@book
def test_what_comes_in_after_it_was_retired_is_no_return():
    one = tool(retired_on=day(80).date())
    a_stay(one, 10, 12)
    a_stay(one, 90, 91)
    shop = records()
    assert returned(shop) == []
    assert at_risk(shop) == [(12, 80.5)]
    assert shop.stretches.job.tolist() == [-1]


@book
def test_in_an_office_off_the_round_observation_ends_with_the_last_stay_there():
    one, other = tool("Gone"), tool("Gone")
    a_stay(one, 10, 12)
    a_stay(other, 60, 64)
    Office.objects.update(is_active=False)
    assert at_risk(records()) == [(12, 64)]


@book
def test_in_an_office_off_the_round_observation_ends_with_the_last_visit_there():
    a_stay(tool("Gone"), 10, 12)
    a_visit("Gone", day(70).date())
    Office.objects.update(is_active=False)
    assert at_risk(records()) == [(12, 70.5)]


@book
def test_at_the_bench_it_is_not_at_risk():
    one = tool()
    a_stay(one, 10, 12)
    a_stay(one, 50, None)
    assert at_risk(records()) == [(12, 50)]


@book
def test_each_stretch_belongs_to_the_office_of_the_stay_that_ends_it():
    one = tool("First")
    a_stay(one, 10, 12)
    a_stay(one, 50, 53)
    tool("Second")
    a_stay(one, 100, 104, office="Second")
    one.office = Office.objects.create(name="Third")
    one.save()
    shop = records()
    names = dict(Office.objects.values_list("pk", "name"))
    assert [names[pk] for pk in shop.offices.pk[shop.stretches.office]] == [
        "First",
        "Second",
        "Third",
    ]
    assert shop.stretches.follows_on.tolist() == [False, False, False]


@book
def test_handpieces_on_loan_are_in_no_rate():
    one = tool(is_loan=True)
    a_stay(one, 10, 12)
    a_stay(one, 50, 53)
    shop = records()
    assert (shop.returns.count, shop.stretches.count) == (0, 0)
    assert shop.tied.watch.is_return.sum() == 1


@book
def test_it_may_come_back_within_the_second():
    one = tool()
    a_stay(one, 10, 12)
    stay = a_stay(one, 12, 13)
    assert returned(records()) == [stay.pk]


@dataclass
class Seen:
    """What the plain reckoning finds for one handpiece."""

    returns: list[bool]
    at_risk: int


def reckoned(stays: list[tuple[int, int, int, int]], counted: int, until: int) -> Seen:
    """Go through the stays of one handpiece second by second."""
    observed = min([end for _, end, _, _ in stays if end != UNKNOWN], default=None)
    if counted != UNKNOWN:
        observed = counted if observed is None else min(observed, counted)
    risk = 0
    for moment in range(200):
        if observed is None or moment < observed or moment >= until:
            continue
        at_bench = any(
            begin <= moment and (end == UNKNOWN or moment < end) for begin, end, _, _ in stays
        )
        risk += not at_bench and not _is_broken(stays, before=moment)
    flags = []
    for number, (begin, _, reason, _) in enumerate(stays):
        earlier = stays[:number]
        in_use = all(end != UNKNOWN and end <= begin for _, end, _, _ in earlier)
        seen = observed is not None and observed <= begin <= until
        broken = _is_broken(earlier, before=10**9)
        flags.append(reason == 0 and in_use and seen and not broken)
    return Seen(flags, risk)


def _is_broken(stays, *, before: int) -> bool:
    broken = False
    for begin, _, reason, stage in stays:
        if begin > before:
            break
        if STAGES[stage] == Stage.HANDED_BACK_UNREPAIRED:
            broken = True
        elif STAGES[stage] == Stage.HANDED_BACK and REASONS[reason] != Reason.TEST_ONLY:
            broken = False
    return broken


@st.composite
def lives(draw) -> tuple[list[tuple[int, int, int, int]], int, int]:
    """Draw the stays of a handpiece one after another, the last perhaps still open."""
    edges = draw(st.lists(st.integers(0, 150), min_size=0, max_size=10, unique=True))
    edges = sorted(edges)[: len(edges) // 2 * 2]
    stays = []
    for place in range(0, len(edges), 2):
        is_last = place + 2 == len(edges)
        is_open = is_last and draw(st.booleans())
        stage = draw(st.sampled_from([Stage.HANDED_BACK, Stage.HANDED_BACK_UNREPAIRED]))
        stays.append(
            (
                edges[place],
                UNKNOWN if is_open else edges[place + 1],
                draw(st.integers(0, 3)),
                STAGES.index(Stage.TAKEN_IN if is_open else stage),
            )
        )
    counted = draw(st.one_of(st.just(UNKNOWN), st.integers(0, 150)))
    return stays, counted, draw(st.integers(100, 199))


@given(st.lists(lives(), min_size=1, max_size=4))
@settings(max_examples=300, deadline=None)
def test_it_agrees_with_a_plain_reckoning_second_by_second(drawn):
    rows = [(place, *stay) for place, (stays, _, _) in enumerate(drawn) for stay in stays]
    table = np.array(rows, dtype=np.int64).reshape(-1, 5)
    watch = watched(
        Stays(table[:, 0], table[:, 1], table[:, 2], table[:, 3], table[:, 4]),
        counted_s=np.array([counted for _, counted, _ in drawn], dtype=np.int64),
        until_s=np.array([until for _, _, until in drawn], dtype=np.int64),
    )
    for place, (stays, counted, until) in enumerate(drawn):
        plain = reckoned(stays, counted, until)
        mine = table[:, 0] == place
        assert watch.is_return[mine].tolist() == plain.returns
        before = (watch.stop_s - watch.start_s)[mine].sum()
        assert before + watch.open_stop_s[place] - watch.open_start_s[place] == plain.at_risk
