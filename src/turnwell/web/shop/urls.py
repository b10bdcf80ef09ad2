"""Addresses of the app shop."""

from django.urls import URLPattern, URLResolver, path

from turnwell.web.shop.views import instruments, settings
from turnwell.web.shop.views.code import code
from turnwell.web.shop.views.search import search_page
from turnwell.web.shop.views.today import today

__all__ = ["urlpatterns"]

urlpatterns: list[URLPattern | URLResolver] = [
    path("", today, name="today"),
    path("search/", search_page, name="search"),
    path("c/<str:code>/", code, name="code"),
    path("shop/", settings.shop_page, name="shop"),
    path("shop/edit/", settings.shop_edit, name="shop-edit"),
    path("shop/instruments/", instruments.instruments, name="instruments"),
    path("shop/instruments/new/", instruments.instrument_new, name="instrument-new"),
    path("shop/instruments/<int:pk>/", instruments.instrument, name="instrument"),
    path("shop/instruments/<int:pk>/checks/", instruments.check_new, name="check-new"),
    path("shop/checks/<int:pk>/take-back/", instruments.check_take_back, name="check-take-back"),
]
