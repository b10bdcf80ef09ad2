"""Who may come in: the checks of views and actions, and the one way to look a thing up.

A page a person's role does not open answers 403. A thing a person may not see answers 404, the same
as one that does not exist, so that an address tells nothing.
"""

from collections.abc import Callable
from functools import wraps
from typing import Any, Concatenate, ParamSpec, Protocol, Self, TypeVar

from django.core.exceptions import ObjectDoesNotExist, PermissionDenied
from django.db.models import Model
from django.http import Http404, HttpRequest, HttpResponseBase

from turnwell.errors import NotAllowedError
from turnwell.web.accounts.models import User

__all__ = ["owner_only", "person", "require_shop", "shop_only", "visible_or_404"]

P = ParamSpec("P")
R = TypeVar("R", bound=HttpResponseBase)
M = TypeVar("M", bound=Model)
M_co = TypeVar("M_co", bound=Model, covariant=True)
View = Callable[Concatenate[HttpRequest, P], R]


class _Visible(Protocol[M_co]):
    """A set of rows that knows who may see which."""

    def visible_to(self, user: User) -> Self: ...

    def get(self, *args: Any, **lookup: Any) -> M_co: ...


def person(request: HttpRequest) -> User:
    """Give the signed-in person.

    Raises
    ------
    PermissionDenied
        If nobody is signed in; pages that nobody may open never come so far.
    """
    if not isinstance(request.user, User):
        raise PermissionDenied("Sign in first.")
    return request.user


def require_shop(by: User, refusal: str) -> None:
    """Refuse a write by anybody who is not of the shop, or no longer active.

    Parameters
    ----------
    by : User
        Who would write.
    refusal : str
        What they are told.

    Raises
    ------
    NotAllowedError
        If the person is of an office, or no longer active.
    """
    if not (by.is_active and by.is_shop):
        raise NotAllowedError(refusal)


def shop_only(view: View[P, R]) -> View[P, R]:
    """Open a view to people of the shop only."""

    @wraps(view)
    def guarded(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> R:
        if not person(request).is_shop:
            raise PermissionDenied("Only people of the shop may do this.")
        return view(request, *args, **kwargs)

    return guarded


def owner_only(view: View[P, R]) -> View[P, R]:
    """Open a view to the owner only."""

    @wraps(view)
    def guarded(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> R:
        if not person(request).is_owner:
            raise PermissionDenied("Only the owner may do this.")
        return view(request, *args, **kwargs)

    return guarded


def visible_or_404(rows: _Visible[M], user: User, **lookup: Any) -> M:
    """Give the row that the lookup names, if this person may see it.

    Parameters
    ----------
    rows : QuerySet with ``visible_to``
        Where to look.
    user : User
        Who looks.
    lookup
        As of ``QuerySet.get``.

    Raises
    ------
    Http404
        If there is none, or it is not for this person.
    """
    try:
        return rows.visible_to(user).get(**lookup)
    except ObjectDoesNotExist as error:
        raise Http404("There is nothing at this address for you.") from error
