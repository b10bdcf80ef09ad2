"""Filters for what was heard in a recording: ``{% load heard %}``."""

from collections.abc import Iterable, Mapping
from typing import Any

from django import template

from turnwell.measure import Reading
from turnwell.web.jobs.analysis.compare import Comparison
from turnwell.web.jobs.models import StoredReading
from turnwell.web.jobs.reading_groups import ReadingGroup, grouped
from turnwell.web.jobs.said import Said, faults_in, said_in

__all__ = ["register"]

register = template.Library()


@register.filter
def said(listening: Mapping[str, Any] | None) -> list[Said]:
    """``{{ recording.listening|said }}``: what the sound says."""
    return said_in(listening)


@register.filter
def faults(listening: Mapping[str, Any] | None) -> list[Said]:
    """``{{ recording.listening|faults }}``: what is wrong with the recording."""
    return faults_in(listening)


@register.filter
def in_groups(
    readings: Iterable[Reading | StoredReading], sentences: Iterable[Said] = ()
) -> list[ReadingGroup]:
    """``{{ record.readings|in_groups:said }}``: readings under their headings."""
    now = (one.reading if isinstance(one, StoredReading) else one for one in readings)
    return grouped([(one, None) for one in now], [said.text for said in sentences])


@register.filter
def pairs_in_groups(
    compared: Comparison | Iterable[tuple[Reading, Reading | None]],
    sentences: Iterable[Said] = (),
) -> list[ReadingGroup]:
    """``{{ comparison|pairs_in_groups:said }}``: the later readings, the earlier ones beside them.

    An earlier reading of another set-up is left out.
    """
    pairs = _comparable(compared) if isinstance(compared, Comparison) else compared
    return grouped(pairs, [said.text for said in sentences])


def _comparable(compared: Comparison) -> list[tuple[Reading, Reading | None]]:
    return [
        (pair.after, None if compared.differences else pair.before)
        for pair in compared.pairs
        if pair.after is not None
    ]
