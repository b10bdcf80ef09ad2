"""Forms of signing in and of people."""

from typing import Any

from django import forms
from django.conf import settings
from django.contrib.auth.forms import AuthenticationForm
from django.http import HttpRequest

from turnwell.errors import NotAllowedError
from turnwell.web.accounts.door import check_door, forget_failures, note_failure
from turnwell.web.accounts.models import Role, User
from turnwell.web.offices.models import Office
from turnwell.web.shared.forms import HouseForm

__all__ = ["OwnPasswordForm", "PasswordForm", "PersonForm", "SignInForm", "caller_address"]


def caller_address(request: HttpRequest) -> str:
    """Give the address a request came from, as the server or the proxy in front saw it."""
    if settings.ENVIRONMENT.behind_proxy:
        forwarded = str(request.META.get("HTTP_X_FORWARDED_FOR", "")).rpartition(",")[2].strip()
        if forwarded:
            return forwarded
    return str(request.META.get("REMOTE_ADDR", ""))


class SignInForm(AuthenticationForm):
    """Name and password; shut for a while after too many wrong ones."""

    error_messages = {
        "invalid_login": "Name and password do not belong together; check both and try again.",
        "inactive": "This person may no longer sign in; ask the owner.",
    }

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["username"].label = "Name"

    def clean(self) -> dict[str, Any]:
        """Check the door before the password, and keep a failure."""
        name = str(self.cleaned_data.get("username") or "")
        address = caller_address(self.request) if self.request else ""
        try:
            check_door(name, address)
        except NotAllowedError as error:
            raise forms.ValidationError(str(error), code="shut") from error
        try:
            cleaned: dict[str, Any] = super().clean()
        except forms.ValidationError:
            note_failure(name, address)
            raise
        forget_failures(name, address)
        return cleaned


class PersonForm(HouseForm):
    """A person: name to sign in, name on papers, role, office."""

    username = forms.CharField(
        max_length=150, label="Name to sign in", widget=forms.TextInput({"autocomplete": "off"})
    )
    first_name = forms.CharField(max_length=150, required=False, label="First name")
    last_name = forms.CharField(max_length=150, required=False, label="Last name")
    role = forms.TypedChoiceField(
        choices=Role.choices,
        coerce=Role,
        initial=Role.TECHNICIAN,
        label="Role",
        help_text="Owner: settings and people too. Office: sees only its own handpieces and jobs.",
    )
    office = forms.ModelChoiceField(
        queryset=Office.objects.none(),
        required=False,
        label="Office",
        empty_label="None",
        help_text="Only for people of an office.",
    )

    def __init__(self, *args: Any, person: User | None = None, **options: Any) -> None:
        super().__init__(*args, **options)
        office = self.fields["office"]
        assert isinstance(office, forms.ModelChoiceField)  # noqa: S101  # for the type checker
        office.queryset = Office.objects.all()
        if person is not None:
            self.fields["username"].disabled = True


class PasswordForm(HouseForm):
    """A password, typed once and shown on demand."""

    password = forms.CharField(
        max_length=200,
        strip=False,
        label="New password",
        widget=forms.PasswordInput({"autocomplete": "new-password"}),
        help_text="At least 10 characters; several words are good.",
    )


class OwnPasswordForm(PasswordForm):
    """One's own password; the old one is asked for where there is one."""

    old = forms.CharField(
        max_length=200,
        strip=False,
        required=False,
        label="Old password",
        widget=forms.PasswordInput({"autocomplete": "current-password"}),
    )
    field_order = ["old", "password"]

    def __init__(self, *args: Any, person: User, **options: Any) -> None:
        super().__init__(*args, **options)
        if person.has_usable_password():
            self.fields["old"].required = True
        else:
            del self.fields["old"]
