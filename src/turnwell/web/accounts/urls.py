"""Addresses of the app accounts."""

from django.urls import URLPattern, URLResolver

__all__ = ["urlpatterns"]

urlpatterns: list[URLPattern | URLResolver] = []
