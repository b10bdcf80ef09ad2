"""Addresses of the app handpieces: handpieces, own models, limits, the catalogue."""

from django.urls import URLPattern, URLResolver, path

from turnwell.web.handpieces.views import catalogue, handpieces, limits, models
from turnwell.web.handpieces.views.catalogue import TABLES

__all__ = ["urlpatterns"]

urlpatterns: list[URLPattern | URLResolver] = [
    path("handpieces/", handpieces.handpieces, name="handpieces"),
    path("handpieces/new/", handpieces.handpiece_new, name="handpiece-new"),
    path("handpieces/<slug:code>/", handpieces.handpiece, name="handpiece"),
    path("handpieces/<slug:code>/edit/", handpieces.handpiece_edit, name="handpiece-edit"),
    path("handpieces/<slug:code>/retire/", handpieces.handpiece_retire, name="handpiece-retire"),
    path("handpieces/<slug:code>/label/", handpieces.handpiece_label, name="handpiece-label"),
    path(
        "handpieces/<slug:code>/back-in-use/",
        handpieces.handpiece_back_in_use,
        name="handpiece-back-in-use",
    ),
    path("models/", models.models, name="models"),
    path("models/new/", models.model_new, name="model-new"),
    path("models/<int:pk>/", models.model, name="model"),
    path("models/<int:pk>/edit/", models.model_edit, name="model-edit"),
    path("models/<int:pk>/limits/<slug:reading_key>/", limits.limit_of_model, name="model-limit"),
    path("limits/<int:pk>/take-back/", limits.limit_take_back, name="limit-take-back"),
    path("catalogue/", catalogue.catalogue, name="catalogue"),
    *(
        path(
            f"catalogue/{key}/",
            catalogue.catalogue_table,
            {"table": key},
            name=f"catalogue-{key}",
        )
        for key in TABLES
    ),
    path("catalogue/<slug:class_key>/", catalogue.catalogue_class, name="catalogue-class"),
    path(
        "catalogue/<slug:class_key>/limits/<slug:reading_key>/",
        limits.limit_of_class,
        name="class-limit",
    ),
]
