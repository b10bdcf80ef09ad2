"""Handpieces, the shop's own models of them, and its own limits."""

from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from turnwell.web.handpieces.queries import HandpieceQuerySet
from turnwell.web.shared.entries import Entry

__all__ = ["Handpiece", "HandpieceModel", "LimitOverride", "Lubricated"]


class Lubricated(models.TextChoices):
    """Whether a model is lubricated; "not known" sends the reader to the maker's instructions."""

    YES = "yes", "Yes"
    NEVER = "never", "Never"
    NOT_KNOWN = "not known", "Not known"


class HandpieceModel(models.Model):
    """A model as this shop knows it, typed in from its label and its instructions."""

    class OilWhen(models.TextChoices):
        """When the maker wants oil."""

        BEFORE = "before", "Before sterilizing"
        AFTER = "after", "After sterilizing"
        NOT_KNOWN = "not known", "Not known"

    name = models.CharField(max_length=120, unique=True)
    class_key = models.CharField(max_length=40)
    label_speed_rpm = models.FloatField(null=True, blank=True)
    label_pressure_kpa = models.FloatField(null=True, blank=True)
    motor_turns_per_bur_turn = models.FloatField(null=True, blank=True)
    bearing_balls = models.PositiveSmallIntegerField(null=True, blank=True)
    bearing_ball_mm = models.FloatField(null=True, blank=True)
    bearing_pitch_mm = models.FloatField(null=True, blank=True)
    bearing_contact_deg = models.FloatField(null=True, blank=True)
    blades = models.PositiveSmallIntegerField(null=True, blank=True)
    lubricated = models.CharField(max_length=10, choices=Lubricated, default=Lubricated.NOT_KNOWN)
    lubricant_place = models.CharField(max_length=200, blank=True)
    oil_when = models.CharField(max_length=10, choices=OilWhen, default=OilWhen.NOT_KNOWN)
    has_spray = models.BooleanField(default=True)
    has_light = models.BooleanField(default=True)
    instructions = models.TextField(blank=True)
    instructions_file = models.ForeignKey(
        "evidence.StoredFile", null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    is_retired = models.BooleanField(default=False)

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(
                condition=Q(label_speed_rpm__isnull=True)
                | (Q(label_speed_rpm__gt=0) & Q(label_speed_rpm__lte=600_000)),
                name="model_label_speed_in_range",
            ),
            models.CheckConstraint(
                condition=Q(label_pressure_kpa__isnull=True)
                | (Q(label_pressure_kpa__gt=0) & Q(label_pressure_kpa__lte=1000)),
                name="model_label_pressure_in_range",
            ),
            models.CheckConstraint(
                condition=Q(motor_turns_per_bur_turn__isnull=True)
                | (Q(motor_turns_per_bur_turn__gt=0) & Q(motor_turns_per_bur_turn__lte=1000)),
                name="model_ratio_in_range",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class LimitOverride(Entry):
    """A limit of the shop in place of the catalogue's, for a class or for one model."""

    class_key = models.CharField(max_length=40, blank=True)
    model = models.ForeignKey(
        HandpieceModel, null=True, blank=True, on_delete=models.PROTECT, related_name="limits"
    )
    reading_key = models.CharField(max_length=40)
    low = models.FloatField(null=True, blank=True)
    high = models.FloatField(null=True, blank=True)
    unit = models.CharField(max_length=12)
    reason = models.CharField(max_length=300)

    class Meta(Entry.Meta):
        constraints = [
            models.CheckConstraint(
                condition=(Q(model__isnull=True) & ~Q(class_key=""))
                | (Q(model__isnull=False) & Q(class_key="")),
                name="own_limit_is_for_a_class_or_a_model",
            ),
            models.CheckConstraint(
                condition=Q(low__isnull=False) | Q(high__isnull=False) | Q(is_taken_back=True),
                name="own_limit_has_a_side",
            ),
            models.CheckConstraint(condition=~Q(reason=""), name="own_limit_has_a_reason"),
        ]

    def __str__(self) -> str:
        return f"{self.reading_key} of {self.model or self.class_key}"


class Handpiece(models.Model):
    """One instrument with its code, its office and what is known of its life."""

    code = models.CharField(max_length=7, unique=True)
    class_key = models.CharField(max_length=40)
    model = models.ForeignKey(
        HandpieceModel, null=True, blank=True, on_delete=models.PROTECT, related_name="handpieces"
    )
    serial = models.CharField(max_length=60, blank=True)
    serial_folded = models.CharField(max_length=60, blank=True, editable=False)
    office = models.ForeignKey(
        "offices.Office", on_delete=models.PROTECT, related_name="handpieces"
    )
    chair = models.ForeignKey(
        "offices.Chair", null=True, blank=True, on_delete=models.SET_NULL, related_name="handpieces"
    )
    in_service_since = models.DateField(null=True, blank=True)
    known_cycles = models.PositiveIntegerField(null=True, blank=True)
    known_cycles_on = models.DateField(null=True, blank=True)
    is_loan = models.BooleanField(default=False)
    retired_on = models.DateField(null=True, blank=True)
    note = models.TextField(blank=True)
    created_at = models.DateTimeField(auto_now_add=True)
    version = models.PositiveIntegerField(default=1, editable=False)

    objects = HandpieceQuerySet.as_manager()

    class Meta:
        ordering = ["office", "class_key", "serial_folded", "pk"]
        indexes = [
            models.Index(fields=["office", "class_key", "serial_folded", "id"]),
            models.Index(fields=["serial_folded"]),
            # Tells by the sum of all versions that nothing changed, without reading the rows.
            models.Index(fields=["version", "id"], name="handpiece_versions"),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["class_key", "serial_folded"],
                condition=~Q(serial_folded=""),
                name="serial_once_a_class",
            ),
            models.CheckConstraint(
                condition=Q(known_cycles__isnull=True) | Q(known_cycles_on__isnull=False),
                name="cycle_count_has_a_date",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.model or self.class_key} {self.serial or self.code}"

    def save(self, *args: object, **kwargs: object) -> None:
        """Keep the folded serial in step with the typed one, and count the version up.

        The database does the counting, so that two writes at once count as two.
        """
        self.serial_folded = self.folded(self.serial)
        is_new = self._state.adding
        if not is_new:
            self.version = F("version") + 1
            fields = kwargs.get("update_fields")
            if fields is not None:
                kwargs["update_fields"] = {*fields, "version"}  # type: ignore[misc]  # names
        super().save(*args, **kwargs)  # type: ignore[arg-type]  # passed on as they came
        if not is_new:
            self.refresh_from_db(fields=["version"])

    def get_absolute_url(self) -> str:
        """Give the handpiece's page."""
        return reverse("handpiece", args=[self.code])

    @staticmethod
    def folded(serial: str) -> str:
        """Give a serial as it is compared: without spaces, upper and lower case taken as one.

        >>> Handpiece.folded(" ab 12 C")
        'ab12c'
        """
        return "".join(serial.split()).casefold()
