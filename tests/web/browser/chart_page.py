"""A page with charts alone, for the tests of this folder."""

from django.http import HttpRequest, HttpResponse
from django.template import engines
from django.urls import path

from tests.pictures.listenings import a_listening
from turnwell.web.urls import urlpatterns as house

PAGE = """{% extends "base.html" %}{% load turnwell %}{% block title %}Charts{% endblock %}
{% block heading %}<header class="title"><h1>Charts</h1></header>{% endblock %}
{% block content %}{% for line in above %}<p>A line above the chart.</p>{% endfor %}
<section class="passage"><div class="passage__head"><h2>Speed</h2></div>
<div class="passage__matter">{% speed_trace after=after before=before %}</div></section>
{% endblock %}
"""


def charts(request: HttpRequest, lines: int) -> HttpResponse:
    """Show a chart under so many lines of text."""
    listening = {"after": a_listening(), "before": a_listening(331_000.0, coast_s=1.0)}
    context = {"above": range(lines)} | listening
    return HttpResponse(engines["django"].from_string(PAGE).render(context, request))


urlpatterns = [*house, path("charts/<int:lines>/", charts)]
