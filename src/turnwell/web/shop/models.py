"""The shop's settings and the instruments on its bench."""

from collections.abc import Mapping
from decimal import Decimal

from django.db import models
from django.db.models import Q

from turnwell.web.shared.entries import Entry

__all__ = [
    "Instrument",
    "InstrumentCheck",
    "LengthUnit",
    "PaperSize",
    "PressureUnit",
    "Shop",
    "TaxRounding",
    "TemperatureUnit",
]


class PressureUnit(models.TextChoices):
    """Unit in which pressures are typed and shown; kept in kPa."""

    KPA = "kPa", "kPa"
    PSI = "psi", "psi"
    BAR = "bar", "bar"


class TemperatureUnit(models.TextChoices):
    """Unit in which temperatures are typed and shown; kept in °C."""

    CELSIUS = "C", "°C"
    FAHRENHEIT = "F", "°F"


class LengthUnit(models.TextChoices):
    """Unit in which lengths are typed and shown; kept in mm."""

    MILLIMETRE = "mm", "mm"
    INCH = "in", "in"


class PaperSize(models.TextChoices):
    """Size of issued papers."""

    A4 = "a4", "A4"
    LETTER = "us-letter", "US Letter"


class TaxRounding(models.TextChoices):
    """Where tax is rounded to the currency's smallest coin."""

    LINE = "line", "On each line"
    TOTAL = "total", "On the total"


class Shop(models.Model):
    """The one row of shop settings."""

    name = models.CharField(max_length=120, default="The bench")
    address = models.TextField(blank=True)
    phone = models.CharField(max_length=40, blank=True)
    email = models.EmailField(blank=True)
    time_zone = models.CharField(max_length=64, default="UTC")
    pressure_unit = models.CharField(max_length=4, choices=PressureUnit, default=PressureUnit.KPA)
    temperature_unit = models.CharField(
        max_length=1, choices=TemperatureUnit, default=TemperatureUnit.CELSIUS
    )
    length_unit = models.CharField(max_length=2, choices=LengthUnit, default=LengthUnit.MILLIMETRE)
    paper_size = models.CharField(max_length=10, choices=PaperSize, default=PaperSize.A4)
    currency = models.CharField(max_length=3, default="USD")
    tax_name = models.CharField(max_length=40, default="Tax")
    tax_percent = models.DecimalField(max_digits=6, decimal_places=3, default=Decimal(0))
    tax_rounding = models.CharField(max_length=5, choices=TaxRounding, default=TaxRounding.TOTAL)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(pk=1), name="there_is_one_shop"),
            models.CheckConstraint(
                condition=Q(tax_percent__gte=0) & Q(tax_percent__lte=100),
                name="tax_is_a_percentage",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def units(self) -> Mapping[str, str]:
        """Unit to show in place of each unit that values are kept in."""
        return {
            "kPa": self.pressure_unit,
            "mm": self.length_unit,
            "°C": f"°{self.temperature_unit}",
        }


class Instrument(models.Model):
    """A gauge, tachometer, microphone or other instrument on the bench."""

    class Kind(models.TextChoices):
        """What it measures with."""

        MICROPHONE = "microphone", "Microphone or phone"
        TACHOMETER = "tachometer", "Optical tachometer"
        PRESSURE_GAUGE = "pressure_gauge", "Pressure gauge"
        DIAL_GAUGE = "dial_gauge", "Dial gauge"
        FORCE_GAUGE = "force_gauge", "Force gauge"
        TORQUE_GAUGE = "torque_gauge", "Torque gauge"
        FLOW_METER = "flow_meter", "Flow meter"
        SOUND_LEVEL_METER = "sound_level_meter", "Sound level meter"
        THERMOMETER = "thermometer", "Thermometer"
        TIMER = "timer", "Timer"
        OTHER = "other", "Other"

    name = models.CharField(max_length=80, unique=True)
    kind = models.CharField(max_length=20, choices=Kind)
    serial = models.CharField(max_length=60, blank=True)
    unit = models.CharField(max_length=12, blank=True)
    resolution = models.FloatField(null=True, blank=True)
    stated_error = models.FloatField(null=True, blank=True)
    is_retired = models.BooleanField(default=False)

    class Meta:
        ordering = ["kind", "name"]
        constraints = [
            models.CheckConstraint(
                condition=Q(resolution__isnull=True) | Q(resolution__gte=0),
                name="instrument_resolution_not_negative",
            ),
            models.CheckConstraint(
                condition=Q(stated_error__isnull=True) | Q(stated_error__gte=0),
                name="instrument_error_not_negative",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class InstrumentCheck(Entry):
    """One check of an instrument against something better, and when the next is due."""

    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="checks")
    checked_on = models.DateField()
    due_on = models.DateField(null=True, blank=True)
    note = models.CharField(max_length=300, blank=True)

    class Meta(Entry.Meta):
        constraints = [
            models.CheckConstraint(
                condition=Q(due_on__isnull=True) | Q(due_on__gt=models.F("checked_on")),
                name="check_is_due_after_it_was_made",
            )
        ]

    def __str__(self) -> str:
        return f"{self.instrument} checked {self.checked_on}"
