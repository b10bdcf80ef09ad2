"""Addresses of the recordings of a job's tests."""

from django.urls import URLPattern, URLResolver, path

from turnwell.web.jobs.views import recordings

__all__ = ["urlpatterns"]

urlpatterns: list[URLPattern | URLResolver] = [
    path("jobs/<str:code>/tests/<int:pk>/record/", recordings.record, name="record"),
    path("jobs/<str:code>/recordings/<int:pk>/", recordings.recording_page, name="recording"),
    path("jobs/<str:code>/recordings/<int:pk>/again/", recordings.again, name="recording-again"),
    path(
        "jobs/<str:code>/recordings/<int:pk>/tachometer/",
        recordings.tachometer_new,
        name="tachometer-new",
    ),
]
