"""The house's own pictures: SVG text and chart specifications from plain values and readings."""

from turnwell.pictures.agreement_plot import (
    AgreementDot,
    AgreementShown,
    agreement_plot,
    agreement_plot_in_words,
)
from turnwell.pictures.cause_ladder import LadderShown, LookNext, Rung, rung_bar
from turnwell.pictures.coast_trace import CoastTraceChart, coast_trace, coast_trace_in_words
from turnwell.pictures.cycle_trace import CycleTraceChart, cycle_trace, cycle_trace_in_words
from turnwell.pictures.drawing import Ground, page, paper
from turnwell.pictures.effect_bar import (
    ActionShown,
    EffectWords,
    effect_bar,
    effect_words,
    effects_top,
)
from turnwell.pictures.estimated import Estimated
from turnwell.pictures.figures import Figures, decimals_for, figures_of, in_units, written
from turnwell.pictures.funnel_picture import (
    Beyond,
    FunnelLimits,
    FunnelOffice,
    FunnelPicture,
)
from turnwell.pictures.funnel_picture_drawing import funnel_picture
from turnwell.pictures.funnel_picture_words import (
    funnel_picture_caption,
    funnel_picture_in_words,
)
from turnwell.pictures.incidence_bars import (
    IncidenceRow,
    IncidenceShown,
    RowKind,
    ShareWords,
    incidence_bar,
    incidence_caption,
    incidence_in_words,
    row_name,
    share_words,
)
from turnwell.pictures.life_strip import (
    CycleCount,
    Life,
    LifeEvent,
    LifeKind,
    life_strip,
    life_strip_in_words,
)
from turnwell.pictures.limit_bar import limit_bar, limit_bar_in_words
from turnwell.pictures.order_picture import (
    OrderPicture,
    order_picture,
    order_picture_in_words,
)
from turnwell.pictures.return_curve import CurveSteps, OldPace, ReturnCurve
from turnwell.pictures.return_curve_drawing import return_curve
from turnwell.pictures.return_curve_words import return_curve_caption, return_curve_in_words
from turnwell.pictures.run_history import (
    EventKind,
    HistoryEvent,
    HistoryPanel,
    RunDot,
    RunHistory,
    RunLevel,
    run_history_in_words,
)
from turnwell.pictures.speed_trace import SpeedTraceChart, speed_trace, speed_trace_in_words
from turnwell.pictures.trace import SpeedTrace
from turnwell.pictures.trip import small_trip
from turnwell.pictures.week_table import WeekPart, WeekRow, WeekTable, week_table

__all__ = [
    "ActionShown",
    "AgreementDot",
    "AgreementShown",
    "Beyond",
    "CoastTraceChart",
    "CurveSteps",
    "CycleCount",
    "CycleTraceChart",
    "EffectWords",
    "Estimated",
    "EventKind",
    "Figures",
    "FunnelLimits",
    "FunnelOffice",
    "FunnelPicture",
    "Ground",
    "HistoryEvent",
    "HistoryPanel",
    "IncidenceRow",
    "IncidenceShown",
    "LadderShown",
    "Life",
    "LifeEvent",
    "LifeKind",
    "LookNext",
    "OldPace",
    "OrderPicture",
    "ReturnCurve",
    "RowKind",
    "RunDot",
    "RunHistory",
    "RunLevel",
    "Rung",
    "ShareWords",
    "SpeedTrace",
    "SpeedTraceChart",
    "WeekPart",
    "WeekRow",
    "WeekTable",
    "agreement_plot",
    "agreement_plot_in_words",
    "coast_trace",
    "coast_trace_in_words",
    "cycle_trace",
    "cycle_trace_in_words",
    "decimals_for",
    "effect_bar",
    "effect_words",
    "effects_top",
    "figures_of",
    "funnel_picture",
    "funnel_picture_caption",
    "funnel_picture_in_words",
    "in_units",
    "incidence_bar",
    "incidence_caption",
    "incidence_in_words",
    "life_strip",
    "life_strip_in_words",
    "limit_bar",
    "limit_bar_in_words",
    "order_picture",
    "order_picture_in_words",
    "page",
    "paper",
    "return_curve",
    "return_curve_caption",
    "return_curve_in_words",
    "row_name",
    "run_history_in_words",
    "rung_bar",
    "share_words",
    "small_trip",
    "speed_trace",
    "speed_trace_in_words",
    "week_table",
    "written",
]
