"""A sterilizer of an office: what it is, what it is set to, how its clock goes."""

from django.db import models
from django.db.models import Q
from django.urls import reverse

from turnwell.web.shared.entries import Entry
from turnwell.web.sterilizers.queries import SterilizerQuerySet

__all__ = ["ClockSetting", "Plan", "Sterilizer"]


class Sterilizer(models.Model):
    """One steam sterilizer of an office."""

    class AirRemoval(models.TextChoices):
        """How it takes the air out; the keys are those of the steam core."""

        GRAVITY = "gravity", "Gravity: steam pushes the air out"
        DYNAMIC = "dynamic", "Dynamic: a pump draws vacuums"

    office = models.ForeignKey(
        "offices.Office", on_delete=models.PROTECT, related_name="sterilizers"
    )
    name = models.CharField(max_length=60)
    model_typed = models.CharField("model", max_length=120, blank=True)
    capacity_l = models.FloatField("capacity", null=True, blank=True)
    air_removal = models.CharField(max_length=8, choices=AirRemoval, blank=True)
    temperature_bound_k = models.FloatField(default=0.5)
    pressure_bound_kpa = models.FloatField(default=2.0)
    is_active = models.BooleanField(default=True)
    note = models.TextField(blank=True)

    objects = SterilizerQuerySet.as_manager()

    class Meta:
        ordering = ["office__name", "name"]
        constraints = [
            models.UniqueConstraint(fields=["office", "name"], name="sterilizer_once_an_office"),
            models.CheckConstraint(
                condition=Q(capacity_l__isnull=True) | Q(capacity_l__gt=0, capacity_l__lte=2000),
                name="sterilizer_capacity_in_range",
            ),
            models.CheckConstraint(
                condition=Q(temperature_bound_k__gt=0, temperature_bound_k__lte=20)
                & Q(pressure_bound_kpa__gt=0, pressure_bound_kpa__lte=20),
                name="sterilizer_bounds_in_range",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        """Give the address of its page."""
        return reverse("sterilizer", args=[self.pk])


class Plan(models.Model):
    """A cycle the sterilizer is set to; what is left empty is held against nothing.

    Parameters of a row of the catalogue are copied into it, so that a later catalogue changes no
    judgement; `catalogue_key` says where they are from.
    """

    sterilizer = models.ForeignKey(Sterilizer, on_delete=models.CASCADE, related_name="plans")
    name = models.CharField(max_length=80)
    catalogue_key = models.CharField(max_length=60, blank=True)
    set_c = models.FloatField("sterilization temperature", null=True, blank=True)
    band_k = models.FloatField("band", null=True, blank=True)
    hold_s = models.FloatField("holding time", null=True, blank=True)
    dry_s = models.FloatField("drying time", null=True, blank=True)
    drying_pressure_kpa = models.FloatField(null=True, blank=True)
    pulses = models.PositiveSmallIntegerField(null=True, blank=True)
    source = models.CharField(max_length=200, blank=True)
    basis = models.CharField(max_length=16, default="own")
    is_usual = models.BooleanField(default=False)

    class Meta:
        ordering = ["-is_usual", "name"]
        constraints = [
            models.UniqueConstraint(fields=["sterilizer", "name"], name="plan_once_a_sterilizer"),
            models.UniqueConstraint(
                fields=["sterilizer"],
                condition=Q(is_usual=True),
                name="one_usual_plan_a_sterilizer",
            ),
            models.CheckConstraint(
                condition=(Q(set_c__isnull=True) | Q(set_c__gte=100, set_c__lte=140))
                & (Q(band_k__isnull=True) | Q(band_k__gte=0.1, band_k__lte=20))
                & (Q(hold_s__isnull=True) | Q(hold_s__gte=1, hold_s__lte=7200))
                & (Q(dry_s__isnull=True) | Q(dry_s__gte=1, dry_s__lte=14400))
                & (
                    Q(drying_pressure_kpa__isnull=True)
                    | Q(drying_pressure_kpa__gt=0, drying_pressure_kpa__lte=110)
                ),
                name="plan_in_range",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class ClockSetting(Entry):
    """How far the sterilizer's clock is ahead of the office's, from a day on."""

    sterilizer = models.ForeignKey(Sterilizer, on_delete=models.CASCADE, related_name="clocks")
    minutes_ahead = models.FloatField()
    from_day = models.DateField()

    class Meta(Entry.Meta):
        ordering = ["-from_day", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(minutes_ahead__gte=-1_000_000, minutes_ahead__lte=1_000_000),
                name="clock_setting_in_range",
            )
        ]

    def __str__(self) -> str:
        return f"{self.sterilizer}: {self.minutes_ahead:+g} min from {self.from_day}"
