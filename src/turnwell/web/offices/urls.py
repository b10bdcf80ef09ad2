"""Addresses of the app offices."""

from django.urls import URLPattern, URLResolver, path

from turnwell.web.offices import views

__all__ = ["urlpatterns"]

urlpatterns: list[URLPattern | URLResolver] = [
    path("offices/", views.offices, name="offices"),
    path("offices/new/", views.office_new, name="office-new"),
    path("offices/<int:pk>/", views.office, name="office"),
    path("offices/<int:pk>/edit/", views.office_edit, name="office-edit"),
    path("offices/<int:pk>/chairs/", views.chair_add, name="chair-add"),
    path("chairs/<int:pk>/", views.chair, name="chair"),
    path("chairs/<int:pk>/remove/", views.chair_remove, name="chair-remove"),
]
