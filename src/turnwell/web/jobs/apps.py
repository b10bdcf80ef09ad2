"""Registers the app."""

from django.apps import AppConfig

__all__ = ["JobsConfig"]


class JobsConfig(AppConfig):
    """The app jobs."""

    name = "turnwell.web.jobs"
    label = "jobs"
