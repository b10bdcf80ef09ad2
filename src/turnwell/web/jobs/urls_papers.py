"""Addresses of a job's papers."""

from django.urls import URLPattern, URLResolver, path

from turnwell.web.jobs.views import papers

__all__ = ["urlpatterns"]

urlpatterns: list[URLPattern | URLResolver] = [
    path("jobs/<str:code>/papers/<str:kind>/issue/", papers.issue, name="paper-issue"),
    path("jobs/<str:code>/label/", papers.job_label, name="job-label"),
    path("papers/<int:pk>/", papers.paper, name="paper"),
]
