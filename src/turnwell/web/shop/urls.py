"""Addresses of the app shop."""

from django.urls import URLPattern, URLResolver, path

from turnwell.web.shop.views.code import code
from turnwell.web.shop.views.search import search_page
from turnwell.web.shop.views.today import today

__all__ = ["urlpatterns"]

urlpatterns: list[URLPattern | URLResolver] = [
    path("", today, name="today"),
    path("search/", search_page, name="search"),
    path("c/<str:code>/", code, name="code"),
]
