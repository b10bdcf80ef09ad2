"""Addresses of the app accounts."""

from django.urls import URLPattern, URLResolver, path

from turnwell.web.accounts.views import people, signing_in

__all__ = ["urlpatterns"]

urlpatterns: list[URLPattern | URLResolver] = [
    path("sign-in/", signing_in.sign_in, name="sign-in"),
    path("sign-in/<str:token>/", signing_in.sign_in_link, name="sign-in-link"),
    path("sign-out/", signing_in.sign_out, name="sign-out"),
    path("own-password/", signing_in.own_password, name="own-password"),
    path("people/", people.people, name="people"),
    path("people/new/", people.new_person, name="person-new"),
    path("people/<int:pk>/", people.person_page, name="person"),
    path("people/<int:pk>/password/", people.person_password, name="person-password"),
    path("people/<int:pk>/active/", people.person_active, name="person-active"),
    path("people/<int:pk>/link/", people.person_link, name="person-link"),
]
