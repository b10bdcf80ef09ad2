"""Addresses of stored files."""

from django.urls import URLPattern, URLResolver, path

from turnwell.web.evidence import views

__all__ = ["urlpatterns"]

urlpatterns: list[URLPattern | URLResolver] = [
    path("files/<int:pk>/", views.file, name="file"),
    path("files/<int:pk>/small/", views.small_file, name="file-small"),
    path("files/<int:pk>/as-received/", views.file_as_received, name="file-as-received"),
    path("files/<int:pk>/erase/", views.erase, name="file-erase"),
]
