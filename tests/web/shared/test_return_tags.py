"""The tags of returns: what they put onto a page, and what they say where there is nothing."""

import re
from datetime import date

from django.template import Context, Template

from turnwell.pictures import (
    ActionShown,
    Beyond,
    CurveSteps,
    Estimated,
    FunnelLimits,
    FunnelOffice,
    FunnelPicture,
    IncidenceRow,
    IncidenceShown,
    ReturnCurve,
    RowKind,
)
from turnwell.words import text_of


def rendered(source: str, **values: object) -> str:
    return Template("{% load turnwell %}" + source).render(Context(values))


def test_a_return_curve_stands_with_its_caption_and_its_words():
    steps = CurveSteps.of([30, 90], [0.5, 1.0], [0.1, 0.4], [1.4, 2.1], handpieces=2, returns=2)
    curve = ReturnCurve(date(2025, 1, 1), date(2025, 7, 1), steps, trainings=(date(2025, 5, 2),))
    html = rendered("{% return_curve curve %}", curve=curve)
    assert html.count("<svg") > 1
    assert 'class="plotted"' in html
    assert "<figcaption>How often the average handpiece has come back" in html
    assert "The same in words" in html
    assert "training, 2 May 2025" in html
    assert "style=" not in html


def test_no_curve_says_when_it_begins():
    html = rendered("{% return_curve curve %}", curve=None)
    assert text_of("pictures.returncurve.nothing") in html
    assert "<svg" not in html


def test_a_funnel_stands_with_its_caption_and_its_words_and_names_are_no_markup():
    limits = FunnelLimits.of([1, 9], [0.2, 0.5], [2.5, 1.6], [0.1, 0.3], [3.5, 2.1])
    office = FunnelOffice("<b>Mill & Row</b>", 30, 8.0, Beyond.OF_998)
    html = rendered("{% funnel_picture f %}", f=FunnelPicture((office,), limits))
    assert "<b>" not in html
    assert html.count("&lt;b&gt;Mill &amp; Row&lt;/b&gt;") >= 2
    assert "beyond the 99.8 % limit" in html
    nothing = rendered("{% funnel_picture f %}", f=None)
    assert text_of("pictures.funnel.nothing") in nothing


def words(html: str) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", html).split())


def test_causes_stand_with_share_interval_and_count():
    rows = (
        IncidenceRow("Too little lubricant", Estimated(0.31, 0.22, 0.41), 23),
        IncidenceRow("", Estimated(0.5, 0.4, 0.6), 31, kind=RowKind.STILL_RUNNING),
    )
    html = rendered("{% incidence i %}", i=IncidenceShown("one year after hand-back", rows, 74))
    assert "Too little lubricant 31 % 22 to 41 %, 23 returns" in words(html)
    assert "still running 50 % 40 to 60 %, 31 handpieces" in words(html)
    assert html.count("<svg") == 2
    assert "incidence--two" not in html
    assert text_of("pictures.incidence.nothing") in rendered("{% incidence i %}", i=None)


def test_causes_before_and_after_a_training_stand_in_one_row():
    row = IncidenceRow("Dropped", Estimated(0.1, 0.05, 0.2), 3, Estimated(0.2, 0.1, 0.4), 9)
    html = rendered("{% incidence i %}", i=IncidenceShown("one year", (row,), 21, 53))
    assert "before 20 % 10 to 40 %, 9 returns after 10 % 5 to 20 %, 3 returns" in words(html)
    assert "incidence--two" in html


def test_actions_stand_in_order_and_what_cannot_be_told_says_why():
    actions = (
        ActionShown("Dry to the end.", "The assistant.", Estimated(4.3, 1.9, 6.8), "5 of 23."),
        ActionShown("Lower the air.", why="No return with this cause is settled."),
    )
    said = words(rendered("{% effects a %}", a=actions))
    assert "1 Dry to the end. The assistant. 4.3 fewer a year 1.9 to 6.8 5 of 23." in said
    assert "2 Lower the air. cannot tell No return with this cause is settled." in said
    assert text_of("pictures.effect.nothing") in rendered("{% effects a %}", a=())


def test_rarer_causes_are_folded_away():
    causes = tuple(IncidenceRow(f"Cause {n}", Estimated(0.1, 0.0, 0.3), 3) for n in range(9))
    html = rendered("{% incidence i %}", i=IncidenceShown("one year", causes, 60))
    shown, folded = html.split("<details")
    assert "Rarer causes: 2" in folded
    assert "Cause 6" in shown
    assert "Cause 7" in folded
    assert "Cause 7" not in shown
    assert "<details" not in rendered("{% incidence i %}", i=IncidenceShown("one", causes[:7], 60))
