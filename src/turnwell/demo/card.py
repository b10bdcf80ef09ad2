"""Writes a stay of the invented shop as its job card has it, by the same actions as a person's."""

from datetime import datetime, timedelta

import numpy as np

from turnwell.demo.repairs import ADJUSTING, RENEWING, Repair, repair_of, warranty_months
from turnwell.demo.shop import DemoShop
from turnwell.demo.years import Card, End
from turnwell.web.handpieces.actions import retire_handpiece
from turnwell.web.jobs import actions
from turnwell.web.jobs.models import EstimateAnswer, EstimateOption, Job, Stage, Test
from turnwell.web.shared.codes import new_code
from turnwell.web.shared.times import today_in_zone

__all__ = ["write_card"]

NO_READING = "Its job card names no reading"
SERVICE_PART = "Set of O-rings"


def write_card(card: Card, shop: DemoShop, rng: np.random.Generator) -> Job:
    """Write one stay down, from the taking in to the hand-back.

    Parameters
    ----------
    card : Card
    shop : DemoShop
    rng : Generator
        Source of the job's code.
    """
    writing = _Writing(card, shop, rng)
    writing.leave_out_first_test()
    writing.move_on(Stage.TESTED_AS_RECEIVED)
    if card.fault is not None:
        writing.explain_and_estimate()
    if card.end in {End.SCRAPPED, End.DECLINED}:
        writing.send_home_unrepaired()
        return writing.job
    if card.end is not End.TESTED:
        writing.rebuild()
    writing.move_on(Stage.HANDED_BACK, at=card.start + timedelta(days=card.days))
    return writing.job


class _Writing:
    """The writing of one card; its clock goes on by hours."""

    def __init__(self, card: Card, shop: DemoShop, rng: np.random.Generator) -> None:
        self.card, self.by, self.at = card, shop.technician, card.start
        self.job = actions.take_in(
            by=self.by,
            handpiece=card.handpiece,
            reason=card.reason,
            complaints=[card.fault.complaint] if card.fault else [],
            complaint_words="",
            sterilized_by=Job.SterilizedBy.OFFICE,
            known_cycles=shop.cycles_at(card.handpiece, card.start),
            at=card.start,
            code=new_code("J", int(rng.integers(32**5))),
        )

    def later(self) -> datetime:
        """Let a while pass: all of it fits into the shortest stay."""
        self.at += timedelta(hours=2)
        return self.at

    def move_on(self, stage: Stage, *, reason: str = "", at: datetime | None = None) -> None:
        """Take the job to its next stage."""
        at = at or self.later()
        actions.move_on(by=self.by, job=self.job, to=stage, reason=reason, at=at)

    def leave_out_first_test(self) -> None:
        """Write why there is no reading of how it came."""
        actions.leave_out_test(
            by=self.by,
            job=self.job,
            when=Test.When.AS_RECEIVED,
            because=NO_READING,
            at=self.later(),
        )

    @property
    def repair(self) -> Repair:
        """What is done about the fault."""
        fault = self.card.fault
        return (
            ADJUSTING if fault is None or self.card.end is End.ADJUSTED else repair_of(fault.cause)
        )

    def explain_and_estimate(self) -> None:
        """Name the cause where it was settled, estimate, and hear the office."""
        card, fault = self.card, self.card.fault
        if fault is None:
            return
        if card.is_settled:
            words = "a part cracked from new" if fault.cause == "something_else" else ""
            actions.confirm_cause(
                by=self.by, job=self.job, cause_key=fault.cause, words=words, at=self.later()
            )
        agreed = self._offer(self.repair)
        if card.end in {End.ADJUSTED, End.SCRAPPED}:
            self._offer(repair_of(fault.cause) if card.end is End.ADJUSTED else RENEWING)
        self.move_on(Stage.ESTIMATED)
        is_agreed = card.end not in {End.DECLINED, End.SCRAPPED}
        if card.end is not End.SCRAPPED:
            answer = EstimateAnswer.Answer
            actions.answer_estimate(
                by=self.by,
                job=self.job,
                answer=answer.AGREED if is_agreed else answer.DECLINED,
                answered_by="Front desk",
                option=agreed if is_agreed else None,
                answered_at=self.later(),
                at=self.at,
            )
        if is_agreed:
            self.move_on(Stage.AGREED)

    def rebuild(self) -> None:
        """Write down what went in; why there is no final test stands beside the step."""
        part = self.repair.part if self.card.fault else SERVICE_PART
        actions.use_part(by=self.by, job=self.job, name=part, at=self.later())
        self.move_on(Stage.REBUILT)
        self.move_on(Stage.PROVED, reason=NO_READING)

    def send_home_unrepaired(self) -> None:
        """Hand it back as it is; what is not worth repairing is retired."""
        back = self.card.start + timedelta(days=self.card.days)
        if self.card.end is End.DECLINED:
            self.move_on(Stage.HANDED_BACK_UNREPAIRED, reason="The office declined", at=back)
            return
        why = "A new one costs less than its cartridge and chuck"
        self.move_on(Stage.NOT_WORTH_REPAIRING, reason=why)
        self.move_on(Stage.HANDED_BACK_UNREPAIRED, at=back)
        # Kept on the row that everybody holds, so that nobody takes it in again.
        self.card.handpiece.retired_on = retire_handpiece(
            by=self.by,
            handpiece=self.card.handpiece,
            on=today_in_zone(self.card.handpiece.office.time_zone, back),
        ).retired_on

    def _offer(self, repair: Repair) -> EstimateOption:
        return actions.add_option(
            by=self.by,
            job=self.job,
            kind=repair.kind,
            parts_price=repair.parts_price,
            labour_price=repair.labour_price,
            warranty_months=warranty_months(repair.kind),
            at=self.later(),
        )
