"""The owner's list of people."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from turnwell.errors import InputError
from turnwell.web.accounts import actions
from turnwell.web.accounts.forms import PasswordForm, PersonForm
from turnwell.web.accounts.models import User
from turnwell.web.shared.access import owner_only
from turnwell.web.shared.access import person as signed_in
from turnwell.web.shared.forms import carry_out

__all__ = ["new_person", "people", "person_active", "person_link", "person_page", "person_password"]


@require_safe
@owner_only
def people(request: HttpRequest) -> HttpResponse:
    """List everybody, those who may sign in first."""
    everybody = User.objects.select_related("office").order_by("-is_active", "role", "username")
    return render(request, "accounts/people.html", {"people": everybody})


@require_http_methods(["GET", "HEAD", "POST"])
@owner_only
def new_person(request: HttpRequest) -> HttpResponse:
    """Add a person."""
    form = PersonForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        added = carry_out(form, actions.add_person, by=signed_in(request), **form.cleaned_data)
        if added is not None:
            messages.success(request, f"{added} is added; make a one-time link or set a password.")
            return redirect("person", pk=added.pk)
    return render(request, "accounts/new_person.html", {"form": form})


@require_http_methods(["GET", "HEAD", "POST"])
@owner_only
def person_page(request: HttpRequest, pk: int) -> HttpResponse:
    """Show a person; change name, role or office."""
    person = get_object_or_404(User, pk=pk)
    initial = {
        "username": person.username,
        "first_name": person.first_name,
        "last_name": person.last_name,
        "role": person.role,
        "office": person.office,
    }
    form = PersonForm(request.POST or None, initial=initial, person=person)
    if request.method == "POST" and form.is_valid():
        typed = {key: form.cleaned_data[key] for key in initial if key != "username"}
        changed = carry_out(
            form, actions.change_person, by=signed_in(request), person=person, **typed
        )
        if changed is not None:
            messages.success(request, f"{changed} is saved.")
            return redirect("person", pk=pk)
    return _shown(request, person, form=form)


@require_POST
@sensitive_post_parameters()
@owner_only
def person_password(request: HttpRequest, pk: int) -> HttpResponse:
    """Set a person's password."""
    person = get_object_or_404(User, pk=pk)
    form = PasswordForm(request.POST)
    if form.is_valid():
        carry_out(
            form,
            actions.set_password,
            by=signed_in(request),
            person=person,
            password=form.cleaned_data["password"],
        )
    if not form.is_valid():
        return _shown(request, person, password_form=form)
    messages.success(request, f"The password of {person} is set.")
    return redirect("person", pk=pk)


@require_POST
@owner_only
def person_active(request: HttpRequest, pk: int) -> HttpResponse:
    """Let a person sign in, or no longer."""
    person = get_object_or_404(User, pk=pk)
    is_active = request.POST.get("is_active") == "1"
    try:
        actions.set_active(by=signed_in(request), person=person, is_active=is_active)
    except InputError as error:
        messages.error(request, str(error))
    else:
        may = "may sign in" if is_active else "may no longer sign in"
        messages.success(request, f"{person} {may}.")
    return redirect("person", pk=pk)


@require_POST
@never_cache
@owner_only
def person_link(request: HttpRequest, pk: int) -> HttpResponse:
    """Make a one-time link and show it, this once."""
    person = get_object_or_404(User, pk=pk, is_active=True)
    token = actions.make_sign_in_link(person)
    address = request.build_absolute_uri(reverse("sign-in-link", args=[token]))
    return _shown(request, person, link=address)


def _shown(
    request: HttpRequest,
    person: User,
    *,
    form: PersonForm | None = None,
    password_form: PasswordForm | None = None,
    link: str = "",
) -> HttpResponse:
    if form is None:
        form = PersonForm(
            initial={
                "username": person.username,
                "first_name": person.first_name,
                "last_name": person.last_name,
                "role": person.role,
                "office": person.office,
            },
            person=person,
        )
    return render(
        request,
        "accounts/person.html",
        {
            "someone": person,
            "form": form,
            "password_form": password_form or PasswordForm(),
            "link": link,
        },
    )
