"""Registers what the apps share: templates, tags and styles."""

from django.apps import AppConfig

__all__ = ["SharedConfig"]


class SharedConfig(AppConfig):
    """What the apps share."""

    name = "turnwell.web.shared"
    label = "shared"
