"""Coming in and going out."""

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import login, update_session_auth_hash
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import LoginView, LogoutView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from turnwell.errors import NotAllowedError
from turnwell.web.accounts.actions import change_own_password, link_is_good, use_sign_in_link
from turnwell.web.accounts.forms import OwnPasswordForm, SignInForm
from turnwell.web.shared.access import person
from turnwell.web.shared.forms import carry_out

__all__ = ["own_password", "sign_in", "sign_in_link", "sign_out"]

sign_in = LoginView.as_view(
    template_name="accounts/sign_in.html",
    authentication_form=SignInForm,
    redirect_authenticated_user=True,
)
sign_out = LogoutView.as_view()


@login_not_required
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def sign_in_link(request: HttpRequest, token: str) -> HttpResponse:
    """Show whom a one-time link lets in; let them in when the button is pressed.

    Looking does not use the link up: messengers and browsers fetch addresses ahead of people.
    """
    if request.method == "POST":
        try:
            user = use_sign_in_link(token)
        except NotAllowedError:
            return render(request, "accounts/sign_in_link.html", {"who": None}, status=410)
        login(request, user, backend="django.contrib.auth.backends.ModelBackend")
        if not user.has_usable_password():
            messages.info(
                request,
                "You came in by a one-time link. Set a password under your name at the foot of"
                " the page to come in without one.",
            )
        return redirect(settings.LOGIN_REDIRECT_URL)
    who = link_is_good(token)
    answer = render(request, "accounts/sign_in_link.html", {"who": who}, status=200 if who else 410)
    # Not "no-referrer": it makes browsers post with a null origin, which the form check refuses.
    answer["Referrer-Policy"] = "same-origin"
    return answer


@sensitive_post_parameters()
@require_http_methods(["GET", "HEAD", "POST"])
def own_password(request: HttpRequest) -> HttpResponse:
    """Set or change one's own password."""
    user = person(request)
    form = OwnPasswordForm(request.POST or None, person=user)
    if request.method == "POST" and form.is_valid():
        typed = form.cleaned_data
        carry_out(
            form, change_own_password, by=user, old=typed.get("old", ""), new=typed["password"]
        )
        if form.is_valid():
            update_session_auth_hash(request, user)
            messages.success(request, "Your password is set.")
            return redirect("own-password")
    return render(request, "accounts/own_password.html", {"form": form})
