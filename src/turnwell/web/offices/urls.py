"""Addresses of the app offices."""

from django.urls import URLPattern, URLResolver

__all__ = ["urlpatterns"]

urlpatterns: list[URLPattern | URLResolver] = []
