"""What went into a rebuild."""

from decimal import Decimal

from django.db import models
from django.db.models import Q

from turnwell.web.jobs.models.job import Job
from turnwell.web.shared.entries import Entry

__all__ = ["PartUsed", "RunIn"]


class PartUsed(Entry):
    """A part that went into the handpiece."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="parts")
    name = models.CharField(max_length=120)
    quantity = models.DecimalField(max_digits=8, decimal_places=2, default=Decimal(1))
    note = models.CharField(max_length=300, blank=True)

    class Meta(Entry.Meta):
        constraints = [
            models.CheckConstraint(condition=Q(quantity__gt=0), name="part_quantity_positive")
        ]

    def __str__(self) -> str:
        return self.name


class RunIn(Entry):
    """Minutes the rebuilt handpiece was run in."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="run_ins")
    minutes = models.FloatField()
    drive_pressure_kpa = models.FloatField(null=True, blank=True)
    note = models.CharField(max_length=300, blank=True)

    class Meta(Entry.Meta):
        constraints = [
            models.CheckConstraint(
                condition=Q(minutes__gt=0) & Q(minutes__lte=1440), name="run_in_minutes_in_range"
            )
        ]

    def __str__(self) -> str:
        return f"{self.minutes:g} min"
