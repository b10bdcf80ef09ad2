"""Tags of the frame around every page: the places in the masthead and the line at the foot."""

from dataclasses import dataclass

from django import template
from django.template.base import Node, NodeList, Parser, Token
from django.template.context import Context
from django.template.loader import render_to_string
from django.urls import NoReverseMatch, reverse
from django.utils.safestring import SafeString, mark_safe

from turnwell.web.shared.numbers import shown_number

__all__ = ["register"]

register = template.Library()


@dataclass(frozen=True, slots=True)
class Place:
    """One place of the masthead."""

    key: str
    name: str
    address: str
    is_here: bool


# Key (a page's block `place`), name, address; only for people of the shop.
PLACES = (
    ("today", "Bench", "today", False),
    ("handpieces", "Handpieces", "handpieces", False),
    ("offices", "Offices", "offices", False),
    ("sterilizers", "Sterilizers", "sterilizers", False),
    ("catalogue", "Catalogue", "catalogue", False),
    ("shop", "Shop", "shop", True),
)
# A job lies on the bench.
STANDS_FOR = {"jobs": "today"}


class PlacesNode(Node):
    """Renders the places; what stands between the tags says which of them is here."""

    def __init__(self, nodelist: NodeList) -> None:
        self.nodelist = nodelist

    def render(self, context: Context) -> SafeString:
        said = self.nodelist.render(context).strip()
        here = STANDS_FOR.get(said, said)
        user = context.get("user")
        is_shop = bool(getattr(user, "is_shop", False))
        places = [
            Place(key, name, address, key == here)
            for key, name, view, for_shop_only in PLACES
            if (is_shop or not for_shop_only) and (address := _address(view))
        ]
        return render_to_string("shared/places.html", {"places": places})


class ActionLineNode(Node):
    """Renders the line at the foot around what stands between the tags, if anything does."""

    def __init__(self, nodelist: NodeList) -> None:
        self.nodelist = nodelist

    def render(self, context: Context) -> SafeString:
        inside = self.nodelist.render(context).strip()
        if not inside:
            return mark_safe("")
        # Stripping made plain text of what the page's own template rendered and escaped.
        return render_to_string("shared/actionline.html", {"inside": mark_safe(inside)})  # noqa: S308


@register.tag
def places(parser: Parser, _token: Token) -> PlacesNode:
    """``{% places %}today{% endplaces %}``: the places, this one marked as here."""
    nodelist = parser.parse(("endplaces",))
    parser.delete_first_token()
    return PlacesNode(nodelist)


@register.tag
def actionline(parser: Parser, _token: Token) -> ActionLineNode:
    """``{% actionline %}...{% endactionline %}``: the line at the foot, left out when empty."""
    nodelist = parser.parse(("endactionline",))
    parser.delete_first_token()
    return ActionLineNode(nodelist)


@register.filter
def exists(view: str) -> bool:
    """Tell whether a page of that name is there to be linked to."""
    return bool(_address(view))


@register.filter
def number(value: float) -> str:
    """Write a setting's number as it was typed, without trailing zeros."""
    return shown_number(value)


def _address(view: str) -> str:
    try:
        return reverse(view)
    except NoReverseMatch:
        return ""
