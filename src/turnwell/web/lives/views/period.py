"""How far back a page looks, as its address asks."""

from django.http import HttpRequest

from turnwell.web.lives.analysis.review import PERIODS

__all__ = ["years_asked"]

USUAL_YEARS = 2


def years_asked(request: HttpRequest) -> int:
    """Give the years to look back: those asked for where they are offered, else the usual."""
    asked = request.POST.get("years") or request.GET.get("years", "")
    return int(asked) if asked in {str(years) for years in PERIODS} else USUAL_YEARS
