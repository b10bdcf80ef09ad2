"""A page with charts alone, for the tests of this folder."""

from django.http import HttpRequest, HttpResponse
from django.template import engines
from django.urls import path

from tests.pictures.listenings import a_full_listening, a_listening
from turnwell.measure import reading
from turnwell.web.urls import urlpatterns as house

PAGE = """{% extends "base.html" %}{% load turnwell %}{% block title %}Charts{% endblock %}
{% block heading %}<header class="title"><h1>Charts</h1></header>{% endblock %}
{% block content %}{% for line in above %}<p>A line above the chart.</p>{% endfor %}
<section class="passage"><div class="passage__head"><h2>Speed</h2></div>
<div class="passage__matter">{% speed_trace after=after before=before %}</div></section>
{% endblock %}
"""

HEARD = """{% extends "base.html" %}{% load turnwell heard %}{% block title %}Heard{% endblock %}
{% block heading %}<header class="title"><h1>Heard</h1></header>{% endblock %}
{% block content %}<section class="passage"><div class="passage__head"><h2>Sound</h2></div>
<div class="passage__matter">{% with sentences=after|said %}
{% include "jobs/heard/groups.html" with groups=readings|pairs_in_groups:sentences %}{% endwith %}
{% include "jobs/heard/pictures.html" with open=True %}</div></section>
{% endblock %}
"""


def charts(request: HttpRequest, lines: int) -> HttpResponse:
    """Show a chart under so many lines of text."""
    listening = {"after": a_listening(), "before": a_listening(331_000.0, coast_s=1.0)}
    context = {"above": range(lines)} | listening
    return HttpResponse(engines["django"].from_string(PAGE).render(context, request))


def heard(request: HttpRequest) -> HttpResponse:
    """Show what two recordings tell: sentences, readings, coast-downs, orders."""
    readings = [
        (reading(key, 4.0, 3.0, 5.0, "dB"), reading(key, 8.0, 7.0, 9.0, "dB"))
        for key in ("bearing_evidence", "roughness", "coast_down_deceleration_50")
    ]
    context = {
        "after": a_full_listening(),
        "before": a_full_listening(331_000.0, coast_s=1.9, stands_out=()),
        "readings": readings,
    }
    return HttpResponse(engines["django"].from_string(HEARD).render(context, request))


urlpatterns = [*house, path("charts/<int:lines>/", charts), path("heard/", heard)]
