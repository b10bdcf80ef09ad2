"""Registers the app."""

from django.apps import AppConfig

__all__ = ["AccountsConfig"]


class AccountsConfig(AppConfig):
    """The app accounts."""

    name = "turnwell.web.accounts"
    label = "accounts"
