"""What a repair would cost, and what the office answered."""

from decimal import Decimal

from django.db import models
from django.db.models import Q

from turnwell.web.jobs.models.job import Job
from turnwell.web.shared.entries import Entry

__all__ = ["EstimateAnswer", "EstimateOption", "OptionKind"]


class OptionKind(models.TextChoices):
    """The repairs a shop offers."""

    ADJUST = "adjust", "Adjust and lubricate"
    BEARINGS = "bearings", "New bearings"
    CARTRIDGE = "cartridge", "New cartridge"
    CHUCK_SEALS = "chuck_seals", "New chuck and seals"
    REPLACE = "replace", "Replace the handpiece"


class EstimateOption(Entry):
    """One way to go on, with its price; money is in the shop's currency of that day."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="options")
    kind = models.CharField(max_length=12, choices=OptionKind)
    words = models.CharField(max_length=300, blank=True)
    parts_price = models.DecimalField(max_digits=12, decimal_places=2, default=Decimal(0))
    labour_price = models.DecimalField(max_digits=12, decimal_places=2, default=Decimal(0))
    currency = models.CharField(max_length=3)
    tax_percent = models.DecimalField(max_digits=6, decimal_places=3)
    tax_amount = models.DecimalField(max_digits=12, decimal_places=2)
    warranty_months = models.PositiveSmallIntegerField(default=0)

    class Meta(Entry.Meta):
        constraints = [
            models.CheckConstraint(
                condition=Q(parts_price__gte=0) & Q(labour_price__gte=0) & Q(tax_amount__gte=0),
                name="prices_not_negative",
            )
        ]

    def __str__(self) -> str:
        return f"{self.job}: {self.get_kind_display()}"

    @property
    def net(self) -> Decimal:
        """Price before tax."""
        return self.parts_price + self.labour_price

    @property
    def total(self) -> Decimal:
        """Price with tax."""
        return self.net + self.tax_amount


class EstimateAnswer(Entry):
    """What the office said to an estimate, who and when."""

    class Answer(models.TextChoices):
        """Yes to one option, or no to all."""

        AGREED = "agreed", "Agreed"
        DECLINED = "declined", "Declined"

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="answers")
    answer = models.CharField(max_length=8, choices=Answer)
    option = models.ForeignKey(
        EstimateOption, null=True, blank=True, on_delete=models.PROTECT, related_name="answers"
    )
    answered_by = models.CharField(max_length=120)
    answered_at = models.DateTimeField()
    note = models.CharField(max_length=300, blank=True)

    class Meta(Entry.Meta):
        constraints = [
            models.CheckConstraint(
                condition=Q(answer="agreed", option__isnull=False)
                | Q(answer="declined", option__isnull=True),
                name="agreed_names_its_option",
            )
        ]

    def __str__(self) -> str:
        return f"{self.job}: {self.answer}"
