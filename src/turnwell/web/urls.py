"""Where each page lives; every app lists its own."""

from django.urls import URLPattern, URLResolver, include, path

__all__ = ["handler400", "handler403", "handler404", "handler500", "urlpatterns"]

urlpatterns: list[URLPattern | URLResolver] = [
    path("", include("turnwell.web.accounts.urls")),
    path("", include("turnwell.web.shop.urls")),
    path("", include("turnwell.web.offices.urls")),
    path("", include("turnwell.web.visits.urls")),
    path("", include("turnwell.web.handpieces.urls")),
    path("", include("turnwell.web.evidence.urls")),
    path("", include("turnwell.web.jobs.urls")),
    path("", include("turnwell.web.sterilizers.urls")),
    path("", include("turnwell.web.lives.urls")),
]

handler400 = "turnwell.web.shared.refusals.bad_request"
handler403 = "turnwell.web.shared.refusals.forbidden"
handler404 = "turnwell.web.shared.refusals.not_found"
handler500 = "turnwell.web.shared.refusals.server_error"
