"""Registers the app."""

from django.apps import AppConfig

__all__ = ["SterilizersConfig"]


class SterilizersConfig(AppConfig):
    """The app sterilizers."""

    name = "turnwell.web.sterilizers"
    label = "sterilizers"
