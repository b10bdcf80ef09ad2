"""What the columns of a sterilizer's records are, as persons confirmed it: one a shape of file."""

from django.conf import settings
from django.db import models
from django.utils import timezone

from turnwell.web.sterilizers.models.sterilizer import Sterilizer

__all__ = ["ConfirmedLayout"]


class ConfirmedLayout(models.Model):
    """The columns of one shape of file.

    A sterilizer may write several shapes: a card, a printer, a program of the office. Files of a
    shape that was confirmed are read by it; those of others are told by the core, or ask.
    """

    sterilizer = models.ForeignKey(Sterilizer, on_delete=models.CASCADE, related_name="layouts")
    signature = models.CharField(max_length=64)
    layout = models.JSONField()
    confirmed_at = models.DateTimeField(default=timezone.now)
    confirmed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        ordering = ["-confirmed_at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["sterilizer", "signature"], name="one_layout_a_sterilizer_and_shape"
            )
        ]

    def __str__(self) -> str:
        return f"{self.sterilizer}: {self.signature}"
