"""Feed water as it was measured."""

from django.db import models

from turnwell.web.shared.entries import Entry
from turnwell.web.sterilizers.models.sterilizer import Sterilizer

__all__ = ["FeedWater"]


class FeedWater(Entry):
    """Values of the feed water of one day, typed in; keys and units are those of the catalogue."""

    sterilizer = models.ForeignKey(Sterilizer, on_delete=models.CASCADE, related_name="feed_water")
    sampled_on = models.DateField()
    values = models.JSONField()
    how = models.CharField(max_length=200, blank=True)

    class Meta(Entry.Meta):
        ordering = ["-sampled_on", "-pk"]

    def __str__(self) -> str:
        return f"{self.sterilizer}: feed water of {self.sampled_on}"
