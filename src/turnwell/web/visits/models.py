"""Calls at an office."""

from django.db import models

from turnwell.web.shared.entries import Entry

__all__ = ["Visit"]


class Visit(Entry):
    """One call at an office: when, why, and whether its people were trained."""

    office = models.ForeignKey("offices.Office", on_delete=models.PROTECT, related_name="visits")
    visited_on = models.DateField()
    why = models.CharField(max_length=300)
    was_training = models.BooleanField(default=False)
    note = models.TextField(blank=True)

    class Meta(Entry.Meta):
        ordering = ["-visited_on", "-pk"]

    def __str__(self) -> str:
        return f"{self.office}, {self.visited_on}"
