"""Every write of sterilizers, their records, loads, clocks and water."""

from turnwell.web.sterilizers.actions.clocks import set_clock
from turnwell.web.sterilizers.actions.feed_water import add_feed_water, take_back_feed_water
from turnwell.web.sterilizers.actions.intake import add_files, begin_intake, resume, work_off
from turnwell.web.sterilizers.actions.layouts import confirm_layout, forget_layout
from turnwell.web.sterilizers.actions.loads import write_load
from turnwell.web.sterilizers.actions.papers import issue_review, issue_run_review
from turnwell.web.sterilizers.actions.records import (
    add_record,
    choose_plan,
    review_again,
    take_back_record,
)
from turnwell.web.sterilizers.actions.starts import write_start
from turnwell.web.sterilizers.actions.sterilizers import (
    PLAN_FIELDS,
    STERILIZER_FIELDS,
    PlanDetails,
    SterilizerDetails,
    add_plan,
    add_sterilizer,
    edit_plan,
    edit_sterilizer,
    remove_plan,
)

__all__ = [
    "PLAN_FIELDS",
    "STERILIZER_FIELDS",
    "PlanDetails",
    "SterilizerDetails",
    "add_feed_water",
    "add_files",
    "add_plan",
    "add_record",
    "add_sterilizer",
    "begin_intake",
    "choose_plan",
    "confirm_layout",
    "edit_plan",
    "edit_sterilizer",
    "forget_layout",
    "issue_review",
    "issue_run_review",
    "remove_plan",
    "resume",
    "review_again",
    "set_clock",
    "take_back_feed_water",
    "take_back_record",
    "work_off",
    "write_load",
    "write_start",
]
