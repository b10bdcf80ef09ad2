"""Addresses of the app shop."""

from django.urls import URLPattern, URLResolver

__all__ = ["urlpatterns"]

urlpatterns: list[URLPattern | URLResolver] = []
