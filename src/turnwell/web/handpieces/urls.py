"""Addresses of the app handpieces."""

from django.urls import URLPattern, URLResolver

__all__ = ["urlpatterns"]

urlpatterns: list[URLPattern | URLResolver] = []
