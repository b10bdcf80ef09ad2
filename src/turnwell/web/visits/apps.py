"""Registers the app."""

from django.apps import AppConfig

__all__ = ["VisitsConfig"]


class VisitsConfig(AppConfig):
    """The app visits."""

    name = "turnwell.web.visits"
    label = "visits"
