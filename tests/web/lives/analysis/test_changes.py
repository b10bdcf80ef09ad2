"""Before and after a visit: a clear fall is told; the end of a bad spell is not taken for one."""

from datetime import date, timedelta

import pytest

from tests.web.lives.records.shop import records
from tests.web.lives.shops import came_back, on, review_office, trained
from turnwell.web.lives.analysis.changes import SHORTEST, VisitChecked, span_of
from turnwell.web.lives.analysis.review import OfficeReview, review_of
from turnwell.web.lives.analysis.review_said import in_short

pytestmark = pytest.mark.django_db
TODAY = date(2026, 1, 1)
VISITED = 381


def others() -> None:
    """Give three offices of six turbines each, back every 200 days all along."""
    for number in range(18):
        came_back(f"Office {number % 3}", range(30 + 11 * number, 720, 200))


def reviewed() -> OfficeReview:
    return review_of(records(), review_office(), today=TODAY, years=2)


def the_visit(found: OfficeReview) -> VisitChecked:
    (visit,) = found.visits
    return visit


@pytest.fixture
def fallen() -> OfficeReview:
    """Return twelve turbines six times each before the training and once after it."""
    others()
    for number in range(12):
        came_back("Birch Lane", [*range(40 + number, 380, 60), 600 + number])
    trained("Birch Lane", VISITED)
    return reviewed()


@pytest.fixture
def unchanged() -> OfficeReview:
    others()
    for number in range(12):
        came_back("Birch Lane", range(40 + 15 * number, 720, 180))
    trained("Birch Lane", VISITED)
    return reviewed()


@pytest.fixture
def after_a_bad_spell() -> OfficeReview:
    """Return ten turbines once each in the five weeks before the visit, and seldom else."""
    for number in range(32):
        came_back(f"Office {number % 4}", range(60 + 10 * number, 730, 350))
    for number in range(10):
        early = [150 + number] if number % 2 else []
        late = [500 + 20 * number] if number < 6 else []
        came_back("Birch Lane", [*early, 340 + 3 * number, *late])
    trained("Birch Lane", 375)
    return reviewed()


def test_a_clear_fall_after_a_training_is_told(fallen: OfficeReview):
    told = the_visit(fallen).told
    assert told.shrunken.verdict.key == "within"
    assert told.shrunken.high < 1.0
    assert told.says.startswith("Returns fell: 12 came back.")
    assert in_short(fallen).startswith("Since the training of 16")
    assert "come back at 0." in in_short(fallen)
    assert "more often" not in in_short(fallen)


def test_counts_and_times_on_both_sides_are_those_of_the_stays(fallen: OfficeReview):
    told = the_visit(fallen).told
    before, after = told.before.why.params, told.after.why.params
    assert (before["returns"], after["returns"]) == (72, 12)
    # Observed from noon of day 0; the visit's day begins at day 380.5, today's 350 days later.
    # Each stay takes a day.
    assert before["years"] == pytest.approx((12 * 380.5 - 72) / 365.25)
    assert after["years"] == pytest.approx((12 * 350 - 12) / 365.25)
    assert told.before.value == pytest.approx(72 / before["years"])


def test_where_nothing_changed_nothing_is_proven(unchanged: OfficeReview):
    told = the_visit(unchanged).told
    assert told.shrunken.verdict.key == "not_proven"
    assert told.shrunken.low < 1.0 < told.shrunken.high
    assert not in_short(unchanged).startswith("Since")
    assert told.shrunken.value == pytest.approx(1.0, abs=0.15)


def test_the_plain_ratio_is_held_against_nothing(fallen: OfficeReview):
    plain = the_visit(fallen).told.plain
    assert plain.limit is None
    assert plain.verdict.key == "no_limit"


def test_the_end_of_a_bad_spell_is_not_called_a_fall(after_a_bad_spell: OfficeReview):
    told = the_visit(after_a_bad_spell).told
    assert told.plain.value < 0.6
    assert told.after_a_bad_spell
    assert told.shrunken.verdict.key == "not_proven"
    assert told.shrunken.value > told.plain.value
    assert "A bad spell came first: 10 returns" in told.says
    assert "Do not read the plain ratio as an effect." in told.says
    assert not in_short(after_a_bad_spell).startswith("Since")


def test_a_visit_that_taught_nobody_is_no_headline(fallen: OfficeReview):
    office = review_office()
    office.visits.all().delete()
    trained("Birch Lane", VISITED, training=False)
    found = reviewed()
    assert the_visit(found).change.is_changed
    assert not in_short(found).startswith("Since the training")


def test_a_young_visit_says_when_to_ask_again():
    came_back("Birch Lane", [100])
    trained("Birch Lane", 721)
    visit = the_visit(reviewed())
    assert visit.told is None
    # 30 days after day 721 are over on day 751, 20 days from today.
    assert visit.why_not.startswith("Too early to tell: ask again in 20 days")


def test_a_visit_before_any_observation_says_so():
    came_back("Birch Lane", [600], first=500)
    trained("Birch Lane", 300)
    visit = the_visit(reviewed())
    assert visit.told is None
    assert "on one side of this visit no handpiece was under observation" in visit.why_not


def test_without_a_return_in_any_office_on_one_side_it_is_not_said_that_nothing_was_watched():
    came_back("Birch Lane", [600])
    trained("Birch Lane", 300)
    visit = the_visit(reviewed())
    assert visit.change is None
    assert visit.why_not == "Cannot tell: nothing came back in any office before this visit."


def test_another_office_that_got_better_makes_this_one_no_worse():
    """A large office falls to a fifth after its own training; this one goes on as it was."""
    for number in range(20):
        came_back("Large", [*range(30 + number, 380, 50), 500 + 5 * number])
    trained("Large", VISITED)
    for number in range(6):
        came_back("Birch Lane", range(40 + 20 * number, 720, 130))
    trained("Birch Lane", VISITED)
    told = the_visit(reviewed()).told
    assert told.shrunken.verdict.key == "not_proven"
    assert told.shrunken.value == pytest.approx(1.0, abs=0.2)
    assert told.plain.value == pytest.approx(1.0, abs=0.1)


def test_looking_back_and_ahead_stops_at_the_next_training():
    days = [on(100), on(300), on(500)]
    span = span_of(on(300), days, TODAY)
    assert (span.start, span.stop) == (on(100), on(500))
    # Alone, it reaches two years back, and to today.
    alone = span_of(on(300), [on(300)], TODAY)
    assert (alone.start, alone.stop) == (on(300) - timedelta(days=730), TODAY)


def test_a_visit_a_month_old_is_looked_into():
    came_back("Birch Lane", [100, 715])
    trained("Birch Lane", 731 - SHORTEST.days)
    assert the_visit(reviewed()).told is not None
