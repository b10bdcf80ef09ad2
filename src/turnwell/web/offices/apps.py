"""Registers the app."""

from django.apps import AppConfig

__all__ = ["OfficesConfig"]


class OfficesConfig(AppConfig):
    """The app offices."""

    name = "turnwell.web.offices"
    label = "offices"
