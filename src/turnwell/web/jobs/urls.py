"""Addresses of the app jobs."""

from django.urls import URLPattern, URLResolver, path

from turnwell.web.jobs import urls_papers, urls_recordings
from turnwell.web.jobs.views import bench, corrections, estimating, explaining, testing
from turnwell.web.jobs.views.job import job_page
from turnwell.web.jobs.views.take_in import take_in_page

__all__ = ["urlpatterns"]

urlpatterns: list[URLPattern | URLResolver] = [
    path("jobs/new/", take_in_page, name="take-in"),
    path("jobs/<str:code>/", job_page, name="job"),
    path("jobs/<str:code>/move/<str:to>/", bench.move, name="job-move"),
    path("jobs/<str:code>/waiting/", bench.waiting, name="waiting"),
    path("jobs/<str:code>/waiting/stop/", bench.stop_waiting, name="waiting-stop"),
    path("jobs/<str:code>/notes/new/", bench.note_new, name="note-new"),
    path("jobs/<str:code>/parts/new/", bench.part_new, name="part-new"),
    path("jobs/<str:code>/run-in/new/", bench.run_in_new, name="run-in-new"),
    path("jobs/<str:code>/tests/<str:when>/new/", testing.test_new, name="test-new"),
    path("jobs/<str:code>/tests/<str:when>/leave-out/", testing.leave_out, name="test-leave-out"),
    path("jobs/<str:code>/tests/<int:pk>/measure/", testing.measure, name="measure"),
    path(
        "jobs/<str:code>/tests/<int:pk>/measure/<str:key>/",
        testing.measure_one,
        name="measure-one",
    ),
    path("jobs/<str:code>/findings/", explaining.findings, name="findings"),
    path("jobs/<str:code>/own-view/", explaining.own_view, name="own-view"),
    path("jobs/<str:code>/ladder/", explaining.ladder, name="ladder"),
    path("jobs/<str:code>/cause/", explaining.cause, name="cause"),
    path("jobs/<str:code>/options/new/", estimating.option_new, name="option-new"),
    path("jobs/<str:code>/answer/", estimating.answer, name="answer"),
    *urls_papers.urlpatterns,
    *urls_recordings.urlpatterns,
    path("jobs/<str:code>/<str:kind>/<int:pk>/correct/", corrections.correct, name="correct"),
    path(
        "jobs/<str:code>/<str:kind>/<int:pk>/take-back/",
        corrections.take_back,
        name="take-back",
    ),
]
