"""Writes of estimates: options with their prices and tax, and the office's answer."""

from datetime import datetime
from decimal import Decimal

from turnwell.errors import InputError, NotAllowedError
from turnwell.web.accounts.models import User
from turnwell.web.jobs.actions.stages import set_waiting
from turnwell.web.jobs.actions.writing import (
    Correction,
    check_stage,
    correction_fields,
    job_being_written,
    kept_text,
    moment,
    require_shop,
)
from turnwell.web.jobs.models import (
    EstimateAnswer,
    EstimateOption,
    Job,
    OptionKind,
    Stage,
    Waiting,
)
from turnwell.web.jobs.money import HIGHEST_PRICE, smallest_coin, tax_on
from turnwell.web.shop.queries import the_shop

__all__ = ["add_option", "answer_estimate"]

LONGEST_WARRANTY_MONTHS = 120
ESTIMATING = (
    Stage.TESTED_AS_RECEIVED,
    Stage.TORN_DOWN,
    Stage.ESTIMATED,
    Stage.AGREED,
    Stage.NOT_WORTH_REPAIRING,
)


def add_option(
    *,
    by: User,
    job: Job,
    kind: OptionKind,
    parts_price: Decimal,
    labour_price: Decimal,
    words: str = "",
    warranty_months: int = 0,
    at: datetime | None = None,
    version: int | None = None,
    correction: Correction | None = None,
) -> EstimateOption:
    """Write one option of the estimate; tax is reckoned by the shop's setting of this day.

    Parameters
    ----------
    parts_price, labour_price : Decimal
        Before tax, in the shop's currency, not below 0, in whole coins.
    words : str
        What is done, up to 300 characters.

    Raises
    ------
    StageError
        If the job is not yet tested, or already rebuilt.
    InputError
        If a price or the kind is wrong.
    """
    require_shop(by)
    if kind not in OptionKind.values:
        raise InputError(f"{kind!r} is no option; choose one of {', '.join(OptionKind.labels)}")
    if not 0 <= warranty_months <= LONGEST_WARRANTY_MONTHS:
        raise InputError(
            f"a warranty of {warranty_months} months, must lie between 0 and"
            f" {LONGEST_WARRANTY_MONTHS}"
        )
    text = kept_text(words, "the words to the office", most=300)
    shop = the_shop()
    prices = [
        _price(parts_price, "the price of the parts", shop.currency),
        _price(labour_price, "the price of the work", shop.currency),
    ]
    with job_being_written(job, version=version) as locked:
        check_stage(locked, ESTIMATING, "an option")
        return EstimateOption.objects.create(
            job=locked,
            kind=kind,
            words=text,
            parts_price=prices[0],
            labour_price=prices[1],
            currency=shop.currency,
            tax_percent=shop.tax_percent,
            tax_amount=tax_on(prices, shop),
            warranty_months=warranty_months,
            entered_by=by,
            entered_at=moment(at, not_before=locked.taken_in_at),
            **correction_fields(correction, EstimateOption, locked),
        )


def answer_estimate(
    *,
    by: User,
    job: Job,
    answer: EstimateAnswer.Answer,
    answered_by: str,
    option: EstimateOption | None = None,
    answered_at: datetime | None = None,
    note: str = "",
    at: datetime | None = None,
    version: int | None = None,
) -> EstimateAnswer:
    """Write down what the office answered, who and when; a later answer corrects the earlier.

    The shop writes what it was told; a person of the office may answer for the own office.

    Parameters
    ----------
    option : EstimateOption or None
        The one agreed to; None when all were declined.
    answered_by : str
        The person who said so.

    Raises
    ------
    NotAllowedError
        If the person is of another office.
    StageError
        If no estimate is out.
    InputError
        If a yes names no standing option of this job, or a no names one.
    """
    if not by.is_active or not (by.is_shop or by.office_id == job.office_id):
        raise NotAllowedError(f"{by} may not answer for this office")
    if answer not in EstimateAnswer.Answer.values:
        raise InputError(f"{answer!r} is no answer; say agreed or declined")
    said_by = kept_text(answered_by, "who answered", most=120, required=True)
    said = kept_text(note, "the note", most=300)
    with job_being_written(job, version=version) as locked:
        check_stage(locked, (Stage.ESTIMATED,), "the office's answer")
        _check_option(locked, EstimateAnswer.Answer(answer), option)
        earlier = locked.answers.standing().last()
        when = moment(at, not_before=locked.stage_since)
        if locked.waiting_for == Waiting.ANSWER:
            set_waiting(locked, Waiting.NOTHING, "", None)
        return EstimateAnswer.objects.create(
            job=locked,
            answer=answer,
            option=option,
            answered_by=said_by,
            answered_at=moment(answered_at) if answered_at else when,
            note=said,
            entered_by=by,
            entered_at=when,
            corrects=earlier,
            correction_reason="answered anew" if earlier else "",
        )


def _check_option(job: Job, answer: EstimateAnswer.Answer, option: EstimateOption | None) -> None:
    if answer == EstimateAnswer.Answer.DECLINED:
        if option is not None:
            raise InputError("declined names no option; agree to one, or decline them all")
        return
    if option is None or not job.options.standing().filter(pk=option.pk).exists():
        raise InputError("agreed needs the option that was agreed to")


def _price(price: Decimal, what: str, currency: str) -> Decimal:
    """Give a price in whole coins of the currency."""
    if not isinstance(price, Decimal) or not price.is_finite() or not 0 <= price <= HIGHEST_PRICE:
        raise InputError(f"{what} is {price}, must lie between 0 and {HIGHEST_PRICE:,}")
    coin = smallest_coin(currency)
    if price % coin:
        raise InputError(f"{what} is {price}; the smallest coin of {currency} is {coin}")
    return price.quantize(coin)
