"""Addresses of the app visits."""

from django.urls import URLPattern, URLResolver

__all__ = ["urlpatterns"]

urlpatterns: list[URLPattern | URLResolver] = []
