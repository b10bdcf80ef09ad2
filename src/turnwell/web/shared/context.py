"""What every template may use: the shop's settings and how this page is reached."""

from dataclasses import dataclass
from ipaddress import ip_address

from django.conf import settings
from django.http import HttpRequest
from django.utils.functional import SimpleLazyObject

from turnwell.web.env import Way
from turnwell.web.shop.queries import the_shop

__all__ = ["PageReach", "house", "page_reach"]


@dataclass(frozen=True, slots=True)
class PageReach:
    """How this page is reached, and what the browser will allow because of it.

    Parameters
    ----------
    way : Way
        How the server was started.
    is_secure_page : bool
        True over HTTPS, and on the machine itself, where browsers count plain http as secure.
    """

    way: Way
    is_secure_page: bool

    @property
    def can_record(self) -> bool:
        """True where a browser hands the microphone to the page."""
        return self.is_secure_page


def page_reach(request: HttpRequest) -> PageReach:
    """Tell how a request came."""
    way: Way = settings.ENVIRONMENT.way
    return PageReach(way, request.is_secure() or _is_this_machine(request))


def house(request: HttpRequest) -> dict[str, object]:
    """Give templates `shop` (read when first used) and `reach`."""
    return {"shop": SimpleLazyObject(the_shop), "reach": page_reach(request)}


def _is_this_machine(request: HttpRequest) -> bool:
    """Tell whether the browser calls this page a local one: localhost or a loopback address."""
    host = request.get_host().rsplit(":", 1)[0].strip("[]")
    if host == "localhost" or host.endswith(".localhost"):
        return True
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return False
