"""Feed water as it was measured."""

from django.db import models
from django.db.models import Q

from turnwell.web.shared.entries import Entry
from turnwell.web.sterilizers.models.sterilizer import Sterilizer

__all__ = ["FeedWater"]


class FeedWater(Entry):
    """Values of the feed water of one day, typed in; keys and units are those of the catalogue."""

    sterilizer = models.ForeignKey(Sterilizer, on_delete=models.CASCADE, related_name="feed_water")
    sampled_on = models.DateField()
    values = models.JSONField()
    how = models.CharField(max_length=200, blank=True)
    bound_percent = models.FloatField(default=10.0)

    class Meta(Entry.Meta):
        ordering = ["-sampled_on", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(bound_percent__gt=0, bound_percent__lte=100),
                name="feed_water_bound_in_range",
            )
        ]

    def __str__(self) -> str:
        return f"{self.sterilizer}: feed water of {self.sampled_on}"
