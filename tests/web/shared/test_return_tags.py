"""The tags of returns: what they put onto a page, and what they say where there is nothing."""

from datetime import date

from django.template import Context, Template

from turnwell.pictures import (
    Beyond,
    CurveSteps,
    FunnelLimits,
    FunnelOffice,
    FunnelPicture,
    ReturnCurve,
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
