"""Everything that is written about people: who may sign in, as what, and how."""

import hashlib
import secrets
from datetime import datetime, timedelta

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone

from turnwell.errors import InputError, NotAllowedError
from turnwell.web.accounts.models import Role, SignInLink, User
from turnwell.web.offices.models import Office

__all__ = [
    "add_person",
    "change_own_password",
    "change_person",
    "create_owner_if_none",
    "link_is_good",
    "make_sign_in_link",
    "set_active",
    "set_password",
    "use_sign_in_link",
]

LINK_LASTS = timedelta(hours=1)


def create_owner_if_none(*, username: str = "owner") -> User:
    """Give the shop's owner, made without a password if there is none yet."""
    with transaction.atomic():
        owner = User.objects.filter(role=Role.OWNER, is_active=True).order_by("pk").first()
        if owner is None:
            owner = User(username=username, role=Role.OWNER)
            owner.set_unusable_password()
            owner.save()
        return owner


def make_sign_in_link(
    user: User, *, at: datetime | None = None, lasts: timedelta = LINK_LASTS
) -> str:
    """Make a one-time link for a person and give its token, which is kept nowhere."""
    token = secrets.token_urlsafe(32)
    now = at or timezone.now()
    with transaction.atomic():
        SignInLink.objects.filter(expires_at__lt=now - timedelta(days=1)).delete()
        SignInLink.objects.create(user=user, token_sha256=_sha256(token), expires_at=now + lasts)
    return token


def link_is_good(token: str, *, at: datetime | None = None) -> User | None:
    """Give the person whom a link would let in, or None; the link is not used by this."""
    link = (
        SignInLink.objects.select_related("user")
        .filter(
            token_sha256=_sha256(token),
            used_at__isnull=True,
            expires_at__gt=at or timezone.now(),
            user__is_active=True,
        )
        .first()
    )
    return link.user if link else None


def use_sign_in_link(token: str, *, at: datetime | None = None) -> User:
    """Use a link up and give the person whom it lets in.

    One conditional update marks it as used, so that of two who press at once only one comes in.

    Raises
    ------
    NotAllowedError
        If it is unknown, used, or too old, or the person may no longer sign in.
    """
    now = at or timezone.now()
    with transaction.atomic():
        user = link_is_good(token, at=now)
        used = SignInLink.objects.filter(
            token_sha256=_sha256(token), used_at__isnull=True, expires_at__gt=now
        ).update(used_at=now)
        if user is None or used != 1:
            raise NotAllowedError("This link has been used or has run out; ask for a new one.")
        return user


def add_person(
    *,
    by: User,
    username: str,
    first_name: str = "",
    last_name: str = "",
    role: Role,
    office: Office | None = None,
) -> User:
    """Add a person, who comes in by a one-time link until a password is set.

    Raises
    ------
    NotAllowedError
        If `by` is not the owner.
    InputError
        If the name is taken, or role and office do not go together.
    """
    _owner(by)
    _role_and_office(role, office)
    person = User(
        username=username, first_name=first_name, last_name=last_name, role=role, office=office
    )
    person.set_unusable_password()
    return _saved(person)


def change_person(
    *,
    by: User,
    person: User,
    first_name: str,
    last_name: str,
    role: Role,
    office: Office | None = None,
) -> User:
    """Change a person's name, role or office.

    Raises
    ------
    NotAllowedError
        If `by` is not the owner.
    InputError
        If the shop would be left without an owner, or role and office do not go together.
    """
    _owner(by)
    _role_and_office(role, office)
    with transaction.atomic():
        if role != Role.OWNER:
            _keep_an_owner(person)
        person.first_name, person.last_name = first_name, last_name
        person.role, person.office = role, office
        return _saved(person)


def set_password(*, by: User, person: User, password: str) -> None:
    """Set a person's password; their open pages elsewhere are signed out by it.

    Raises
    ------
    NotAllowedError
        If `by` is neither the owner nor the person.
    InputError
        If the password is too weak.
    """
    if by.pk != person.pk:
        _owner(by)
    try:
        validate_password(password, person)
    except ValidationError as error:
        raise InputError(" ".join(error.messages)) from error
    person.set_password(password)
    with transaction.atomic():
        person.save(update_fields=["password"])
        SignInLink.objects.filter(user=person, used_at__isnull=True).delete()


def change_own_password(*, by: User, old: str, new: str) -> None:
    """Change one's own password; one who has none yet, having come by a link, names no old one.

    Raises
    ------
    InputError
        If the old password is wrong or the new one too weak.
    """
    if by.has_usable_password() and not by.check_password(old):
        raise InputError("The old password is not right; type it again.")
    set_password(by=by, person=by, password=new)


def set_active(*, by: User, person: User, is_active: bool) -> None:
    """Let a person sign in, or no longer; what they wrote stays.

    Raises
    ------
    NotAllowedError
        If `by` is not the owner.
    InputError
        If the shop would be left without an owner.
    """
    _owner(by)
    with transaction.atomic():
        if not is_active:
            _keep_an_owner(person)
        person.is_active = is_active
        person.save(update_fields=["is_active"])


def _saved(person: User) -> User:
    taken = User.objects.filter(username__iexact=person.username).exclude(pk=person.pk)
    try:
        with transaction.atomic():
            if taken.exists():
                raise InputError(f"“{person.username}” is taken; choose another name to sign in")
            person.save()
    except IntegrityError as error:
        raise InputError(f"“{person.username}” is taken; choose another name to sign in") from error
    return person


def _owner(by: User) -> None:
    if not by.is_owner:
        raise NotAllowedError("Only the owner may change people.")


def _role_and_office(role: Role, office: Office | None) -> None:
    if role == Role.OFFICE and office is None:
        raise InputError("A person of an office needs the office; choose one.")
    if role != Role.OFFICE and office is not None:
        raise InputError("Only a person of an office has one; leave the office empty.")


def _keep_an_owner(person: User) -> None:
    others = User.objects.filter(role=Role.OWNER, is_active=True).exclude(pk=person.pk)
    if person.is_owner and not others.exists():
        raise InputError("This is the only owner; make another person owner first.")


def _sha256(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()
