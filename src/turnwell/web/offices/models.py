"""Dental offices and their chairs."""

from django.db import models
from django.db.models import Q

from turnwell.web.offices.queries import OfficeQuerySet

__all__ = ["Chair", "Office"]


class Office(models.Model):
    """A dental office on the round."""

    name = models.CharField(max_length=120, unique=True)
    address = models.TextField(blank=True)
    contact = models.CharField(max_length=120, blank=True)
    phone = models.CharField(max_length=40, blank=True)
    email = models.EmailField(blank=True)
    time_zone = models.CharField(max_length=64, default="UTC")
    altitude_m = models.FloatField(null=True, blank=True)
    is_active = models.BooleanField(default=True)
    note = models.TextField(blank=True)

    objects = OfficeQuerySet.as_manager()

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(
                condition=Q(altitude_m__isnull=True)
                | (Q(altitude_m__gte=-430) & Q(altitude_m__lte=6000)),
                name="office_altitude_is_on_earth",
            )
        ]

    def __str__(self) -> str:
        return self.name


class Chair(models.Model):
    """One treatment position in an office."""

    office = models.ForeignKey(Office, on_delete=models.CASCADE, related_name="chairs")
    name = models.CharField(max_length=40)

    class Meta:
        ordering = ["office", "name"]
        constraints = [
            models.UniqueConstraint(fields=["office", "name"], name="chair_name_once_an_office")
        ]

    def __str__(self) -> str:
        return self.name
