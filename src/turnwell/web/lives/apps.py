"""Registers the app."""

from django.apps import AppConfig

__all__ = ["LivesConfig"]


class LivesConfig(AppConfig):
    """The app lives."""

    name = "turnwell.web.lives"
    label = "lives"
