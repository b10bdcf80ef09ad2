"""The years before the one told in full have the truth that their offices are said to have."""

from collections import Counter
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from turnwell import catalogue
from turnwell.demo.card import write_card
from turnwell.demo.offices import OFFICES, OPENED_DAYS_AGO, story_of
from turnwell.demo.shop import DemoShop, furnished_shop
from turnwell.demo.years import TOLD_IN_FULL_DAYS, Card, End, earlier_years
from turnwell.web.accounts.actions import create_owner_if_none
from turnwell.web.handpieces.models import Handpiece
from turnwell.web.jobs.models import EstimateAnswer, Job, Stage

NOW = datetime(2026, 3, 2, 15, 0, tzinfo=UTC)
SEEDS = 30

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop() -> DemoShop:
    return furnished_shop(create_owner_if_none(), np.random.default_rng(5), NOW)


def years(shop: DemoShop, seed: int) -> list[Card]:
    return earlier_years(shop, catalogue.load(), np.random.default_rng(seed), NOW)


def faults(cards: list[Card], office: str, older: float, newer: float) -> list[Card]:
    """Give the stays for a fault of an office, from one day to another, counted back."""
    return [
        card
        for card in cards
        if card.handpiece.office.name == office
        and card.fault is not None
        and older >= (NOW - card.start) / timedelta(days=1) > newer
    ]


def test_the_same_seed_gives_the_same_years(shop: DemoShop) -> None:
    first = years(shop, 3)
    assert first == years(shop, 3)
    assert first != years(shop, 4)
    assert first == sorted(first, key=lambda card: card.start)


def test_no_two_stays_of_a_handpiece_meet_and_a_retired_one_stays_away(shop: DemoShop) -> None:
    for seed in range(SEEDS):
        left: dict[int, datetime] = {}
        gone: set[int] = set()
        for card in years(shop, seed):
            key = card.handpiece.pk
            assert key not in gone
            assert card.start > left.get(key, datetime.min.replace(tzinfo=UTC))
            assert card.start.date() >= card.handpiece.in_service_since
            left[key] = card.start + timedelta(days=card.days)
            assert left[key] < NOW
            if card.end is End.SCRAPPED:
                gone.add(key)


def test_nothing_is_drawn_where_the_story_is_told_elsewhere_or_over(shop: DemoShop) -> None:
    ends = {
        story.name: max(story.left_days_ago, TOLD_IN_FULL_DAYS if story.is_told_in_full else 0)
        for story in OFFICES
    }
    for seed in range(SEEDS):
        for card in years(shop, seed):
            days_ago = (NOW - card.start) / timedelta(days=1)
            assert OPENED_DAYS_AGO + 1 > days_ago > ends[card.handpiece.office.name]


def test_a_habit_ends_with_its_training_and_its_cause_with_it(shop: DemoShop) -> None:
    drawn = [years(shop, seed) for seed in range(SEEDS)]
    trained = story_of("Veldrin Dental").trained_days_ago
    assert trained is not None
    before, after = (
        [card for cards in drawn for card in faults(cards, "Veldrin Dental", older, older - 500)]
        for older in (trained + 500, trained)
    )
    assert len(after) < 0.6 * len(before)

    def dry_share(cards: list[Card]) -> float:
        causes = [card.fault.cause for card in cards if card.fault is not None]
        return causes.count("too_little_lubricant") / len(causes)

    assert dry_share(before) > 0.35
    assert dry_share(after) < 0.2


def test_a_bad_spell_is_over_before_the_visit_and_nothing_changed_by_it(shop: DemoShop) -> None:
    drawn = [years(shop, seed) for seed in range(SEEDS)]
    story = story_of("Haspwick Dental")
    begun, over = story.spell_days_ago
    assert story.trained_days_ago is not None
    assert story.trained_days_ago < over

    def a_year(older: float, newer: float) -> float:
        count = sum(len(faults(cards, story.name, older, newer)) for cards in drawn)
        return count / (older - newer) * 365.25 / SEEDS

    spell = a_year(begun, over)
    assert spell > 1.7 * a_year(over, over - 400)
    assert a_year(over, over - 400) == pytest.approx(a_year(begun + 400, begun), rel=0.25)


def test_the_small_office_has_too_little_to_tell(shop: DemoShop) -> None:
    counts = [len(faults(years(shop, seed), "Pirram Dental", 2000, 0)) for seed in range(SEEDS)]
    assert np.mean(counts) < 8


@pytest.mark.parametrize(
    ("end", "stage"),
    [
        (End.REPAIRED, Stage.HANDED_BACK),
        (End.ADJUSTED, Stage.HANDED_BACK),
        (End.DECLINED, Stage.HANDED_BACK_UNREPAIRED),
        (End.SCRAPPED, Stage.HANDED_BACK_UNREPAIRED),
        (End.SERVED, Stage.HANDED_BACK),
        (End.TESTED, Stage.HANDED_BACK),
    ],
)
def test_a_card_is_written_to_its_end(shop: DemoShop, end: End, stage: Stage) -> None:
    rng = np.random.default_rng(8)
    cards = (card for seed in range(SEEDS) for card in years(shop, seed))
    card = next(
        card for card in cards if card.end is end and card.handpiece.known_cycles is not None
    )
    job = write_card(card, shop, rng)
    row = Job.objects.get(pk=job.pk)
    assert row.stage == stage
    assert row.ended_at == card.start + timedelta(days=card.days)
    assert row.known_cycles is not None
    assert row.known_cycles >= card.handpiece.known_cycles
    assert (row.reason == Job.Reason.FAULT) == (card.fault is not None)
    assert row.causes.count() == (card.fault is not None and card.is_settled)
    piece = Handpiece.objects.get(pk=card.handpiece.pk)
    assert (piece.retired_on is not None) == (end is End.SCRAPPED)
    answers = EstimateAnswer.objects.filter(job=row)
    if end in {End.REPAIRED, End.ADJUSTED}:
        agreed = answers.get().option
        assert agreed is not None
        assert agreed.total > 0
        assert (agreed.kind == "adjust") >= (end is End.ADJUSTED)


def test_every_kind_of_stay_happens(shop: DemoShop) -> None:
    ends = Counter(card.end for card in years(shop, 2))
    assert set(ends) == set(End)
    assert ends[End.REPAIRED] > 80


@pytest.mark.parametrize("hour", [0, 5, 12, 23])
def test_the_shop_opens_at_any_hour(hour: int) -> None:
    """Days are those on the offices' walls, where it may still be yesterday."""
    now = datetime(2026, 11, 26, hour, 10, tzinfo=UTC)
    rng = np.random.default_rng(5)
    shop = furnished_shop(create_owner_if_none(), rng, now)
    for card in earlier_years(shop, catalogue.load(), rng, now)[:40]:
        write_card(card, shop, rng)
