"""Where each page lives; every app lists its own."""

from django.urls import URLPattern, URLResolver, include, path

__all__ = ["urlpatterns"]

urlpatterns: list[URLPattern | URLResolver] = [
    path("", include("turnwell.web.accounts.urls")),
    path("", include("turnwell.web.shop.urls")),
    path("", include("turnwell.web.offices.urls")),
    path("", include("turnwell.web.visits.urls")),
    path("", include("turnwell.web.handpieces.urls")),
    path("", include("turnwell.web.evidence.urls")),
    path("", include("turnwell.web.jobs.urls")),
]
