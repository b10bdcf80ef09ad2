"""Addresses of the app lives."""

from django.urls import URLPattern, URLResolver, path

from turnwell.web.lives.views import review, round, worth

__all__ = ["urlpatterns"]

urlpatterns: list[URLPattern | URLResolver] = [
    path("round/", round.the_round, name="round"),
    path("round/warranty/", round.under_warranty, name="round-warranty"),
    path("round/<str:class_key>/<str:kind>/", round.behind, name="round-behind"),
    path("offices/<int:pk>/review/", review.review, name="office-review"),
    path("offices/<int:pk>/review/issue/", review.issue, name="office-review-issue"),
    path("offices/<int:pk>/review/<str:figure>/", review.behind, name="office-review-behind"),
    path(
        "offices/<int:pk>/review/visits/<int:visit>/",
        review.visit_behind,
        name="office-review-visit",
    ),
    path("offices/reviews/<int:pk>/", review.paper, name="office-review-paper"),
    path("jobs/<str:code>/worth/", worth.worth, name="job-worth"),
    path("jobs/<str:code>/worth/<str:kind>/", worth.behind, name="job-worth-behind"),
]
