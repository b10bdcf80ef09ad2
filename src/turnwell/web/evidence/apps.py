"""Registers the app."""

from django.apps import AppConfig

__all__ = ["EvidenceConfig"]


class EvidenceConfig(AppConfig):
    """The app evidence."""

    name = "turnwell.web.evidence"
    label = "evidence"
