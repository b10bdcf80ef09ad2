"""Addresses of the app sterilizers."""

from django.urls import URLPattern, URLResolver, path

from turnwell.web.sterilizers.views import feed_water, intake, layouts, papers, records, sterilizers

__all__ = ["urlpatterns"]

urlpatterns: list[URLPattern | URLResolver] = [
    path("sterilizers/", sterilizers.sterilizers, name="sterilizers"),
    path("sterilizers/new/<int:office>/", sterilizers.sterilizer_new, name="sterilizer-new"),
    path("sterilizers/<int:pk>/", sterilizers.sterilizer, name="sterilizer"),
    path("sterilizers/<int:pk>/edit/", sterilizers.sterilizer_edit, name="sterilizer-edit"),
    path("sterilizers/<int:pk>/clock/", sterilizers.clock, name="sterilizer-clock"),
    path("sterilizers/<int:pk>/cycles/new/", sterilizers.plan_new, name="plan-new"),
    path("sterilizers/cycles/<int:pk>/", sterilizers.plan, name="plan"),
    path("sterilizers/cycles/<int:pk>/remove/", sterilizers.plan_remove, name="plan-remove"),
    path("sterilizers/<int:pk>/files/", intake.files_new, name="cycle-files"),
    path("sterilizers/intakes/<int:pk>/", intake.intake, name="intake"),
    path("sterilizers/intakes/<int:pk>/files/", intake.files_more, name="intake-files"),
    path("sterilizers/<int:pk>/columns/", layouts.layout, name="layout"),
    path("sterilizers/<int:pk>/columns/forget/", layouts.layout_forget, name="layout-forget"),
    path("sterilizers/<int:pk>/records/", records.records, name="cycle-records"),
    path("sterilizers/records/<int:pk>/", records.record, name="cycle-record"),
    path("sterilizers/records/<int:pk>/cycle/", records.record_plan, name="cycle-record-plan"),
    path("sterilizers/records/<int:pk>/load/", records.record_load, name="cycle-record-load"),
    path("sterilizers/records/<int:pk>/start/", records.record_start, name="cycle-record-start"),
    path("sterilizers/records/<int:pk>/again/", records.record_again, name="cycle-record-again"),
    path(
        "sterilizers/records/<int:pk>/take-back/",
        records.record_take_back,
        name="cycle-record-take-back",
    ),
    path("sterilizers/<int:pk>/water/", feed_water.feed_water, name="feed-water"),
    path(
        "sterilizers/water/<int:pk>/take-back/",
        feed_water.feed_water_take_back,
        name="feed-water-take-back",
    ),
    path("sterilizers/<int:pk>/review/", papers.review_issue, name="cycle-review-issue"),
    path(
        "sterilizers/records/<int:pk>/review/",
        papers.run_review_issue,
        name="cycle-record-review",
    ),
    path("sterilizers/papers/<int:pk>/", papers.review_paper, name="cycle-review"),
]
