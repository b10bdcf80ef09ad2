"""Addresses of the app visits."""

from django.urls import URLPattern, URLResolver, path

from turnwell.web.visits import views

__all__ = ["urlpatterns"]

urlpatterns: list[URLPattern | URLResolver] = [
    path("offices/<int:pk>/visits/new/", views.visit_new, name="visit-new"),
    path("visits/<int:pk>/", views.visit, name="visit"),
    path("visits/<int:pk>/take-back/", views.visit_take_back, name="visit-take-back"),
]
