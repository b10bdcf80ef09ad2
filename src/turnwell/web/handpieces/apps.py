"""Registers the app."""

from django.apps import AppConfig

__all__ = ["HandpiecesConfig"]


class HandpiecesConfig(AppConfig):
    """The app handpieces."""

    name = "turnwell.web.handpieces"
    label = "handpieces"
