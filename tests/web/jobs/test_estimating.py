"""Options with their prices and tax, and the office's answer."""

from decimal import Decimal

import pytest

from tests.people import bea_of_birch_lane, theo_the_technician
from tests.web.jobs.builders import a_handpiece, a_job, bring_to
from turnwell.errors import InputError, NotAllowedError, StageError
from turnwell.web.accounts.models import Role, User
from turnwell.web.jobs import actions
from turnwell.web.jobs.models import EstimateAnswer, EstimateOption, Job, Stage
from turnwell.web.offices.models import Office
from turnwell.web.shop.models import Shop

pytestmark = pytest.mark.django_db


def option(job: Job, **fields: object) -> EstimateOption:
    return actions.add_option(
        **{
            "by": theo_the_technician(),
            "job": job,
            "kind": "cartridge",
            "parts_price": Decimal("99.95"),
            "labour_price": Decimal("45.55"),
            "words": "New cartridge, rings and gasket",
        }
        | fields
    )


def answer(job: Job, **fields: object) -> EstimateAnswer:
    return actions.answer_estimate(
        **{
            "by": theo_the_technician(),
            "job": job,
            "answer": "agreed",
            "option": job.options.last(),
            "answered_by": "Bea",
        }
        | fields
    )


@pytest.mark.parametrize(
    ("rounding", "tax"),
    # 7.25 % of 99.95 is 7.246375, of 45.55 is 3.302375, of both 10.54875.
    [("line", Decimal("10.55")), ("total", Decimal("10.55"))],
)
def test_tax_is_reckoned_by_the_shop(rounding: str, tax: Decimal) -> None:
    Shop.objects.create(pk=1, currency="EUR", tax_percent=Decimal("7.25"), tax_rounding=rounding)
    made = option(bring_to(a_job(), Stage.TORN_DOWN))

    made.refresh_from_db()
    assert (made.tax_amount, made.currency) == (tax, "EUR")
    assert made.total == Decimal("145.50") + tax


def test_line_and_total_rounding_differ_where_they_should() -> None:
    # 10 % of 10.05 is 1.005: 1.01 on each line, 2.01 on the two together.
    shop = Shop.objects.create(pk=1, tax_percent=Decimal(10), tax_rounding="line")
    job = bring_to(a_job(), Stage.TORN_DOWN)
    prices = {"parts_price": Decimal("10.05"), "labour_price": Decimal("10.05")}
    assert option(job, **prices).tax_amount == Decimal("2.02")

    shop.tax_rounding = "total"
    shop.save()
    assert option(job, **prices).tax_amount == Decimal("2.01")


def test_a_currency_without_coins_takes_whole_prices() -> None:
    Shop.objects.create(pk=1, currency="JPY", tax_percent=Decimal(10))
    job = bring_to(a_job(), Stage.TORN_DOWN)

    with pytest.raises(InputError, match="smallest coin"):
        option(job, parts_price=Decimal("99.5"))
    prices = {"parts_price": Decimal(1005), "labour_price": Decimal(0)}
    assert option(job, **prices).tax_amount == Decimal(101)


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"parts_price": Decimal(-1)}, "must lie between"),
        ({"parts_price": Decimal("NaN")}, "must lie between"),
        ({"parts_price": Decimal("Infinity")}, "must lie between"),
        ({"labour_price": Decimal("1E+30")}, "must lie between"),
        ({"labour_price": 1.5}, "must lie between"),
        ({"labour_price": Decimal("1.005")}, "smallest coin"),
        ({"kind": "magic"}, "is no option"),
        ({"words": "x" * 301}, "at most 300"),
        ({"warranty_months": 500}, "warranty"),
    ],
)
def test_it_refuses_bad_options(fields: dict[str, object], said: str) -> None:
    job = bring_to(a_job(), Stage.TORN_DOWN)

    with pytest.raises(InputError, match=said):
        option(job, **fields)
    assert not EstimateOption.objects.exists()


@pytest.mark.parametrize("stage", [Stage.REBUILT, Stage.PROVED, Stage.HANDED_BACK])
def test_no_option_after_the_rebuild(stage: Stage) -> None:
    with pytest.raises(StageError):
        option(bring_to(a_job(), stage))


def test_an_option_is_corrected_by_a_new_one() -> None:
    job = bring_to(a_job(), Stage.TORN_DOWN)
    wrong = option(job, parts_price=Decimal("999.50"))
    right = option(job, correction=actions.Correction(wrong, "decimal point"))

    assert list(job.options.standing()) == [right]
    assert right.corrects == wrong


def test_the_shop_writes_the_answer_down() -> None:
    job = bring_to(a_job(), Stage.ESTIMATED)
    made = answer(job, note="by telephone")

    assert (made.answered_by, made.option) == ("Bea", job.options.get())


def test_the_office_answers_for_itself_and_for_no_other() -> None:
    job = bring_to(a_job(), Stage.ESTIMATED)
    assert answer(job, by=bea_of_birch_lane()).entered_by.username == "bea"

    elsewhere = Office.objects.create(name="Elm Row")
    theirs = bring_to(a_job(a_handpiece(office=elsewhere)), Stage.ESTIMATED)
    with pytest.raises(NotAllowedError):
        answer(theirs, by=bea_of_birch_lane())


def test_a_later_answer_corrects_the_earlier() -> None:
    job = bring_to(a_job(), Stage.ESTIMATED)
    first = answer(job, answer="declined", option=None)
    second = answer(job)

    assert list(job.answers.standing()) == [second]
    assert second.corrects == first


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"answer": "perhaps"}, "no answer"),
        ({"option": None}, "needs the option"),
        ({"answer": "declined"}, "declined names no option"),
        ({"answered_by": " "}, "who answered"),
    ],
)
def test_it_refuses_bad_answers(fields: dict[str, object], said: str) -> None:
    job = bring_to(a_job(), Stage.ESTIMATED)

    with pytest.raises(InputError, match=said):
        answer(job, **fields)
    assert not EstimateAnswer.objects.exists()


def test_an_option_of_another_job_is_refused() -> None:
    other = bring_to(a_job(), Stage.ESTIMATED)
    job = bring_to(a_job(), Stage.ESTIMATED)

    with pytest.raises(InputError, match="needs the option"):
        answer(job, option=other.options.get())


def test_no_answer_before_the_estimate_is_out() -> None:
    job = bring_to(a_job(), Stage.TORN_DOWN)
    made = option(job)
    with pytest.raises(StageError):
        answer(job, option=made)


def test_an_inactive_person_answers_nothing() -> None:
    job = bring_to(a_job(), Stage.ESTIMATED)
    gone = User(username="gone", role=Role.OFFICE, office=job.office, is_active=False)
    with pytest.raises(NotAllowedError):
        answer(job, by=gone)
