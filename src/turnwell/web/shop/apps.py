"""Registers the app."""

from django.apps import AppConfig

__all__ = ["ShopConfig"]


class ShopConfig(AppConfig):
    """The app shop."""

    name = "turnwell.web.shop"
    label = "shop"
