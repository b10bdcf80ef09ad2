"""Reads of the shop's settings that several views need."""

from turnwell.web.shop.models import Shop

__all__ = ["the_shop"]


def the_shop() -> Shop:
    """Give the shop's settings; the defaults until someone has saved them."""
    return Shop.objects.filter(pk=1).first() or Shop(pk=1)
