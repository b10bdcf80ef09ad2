"""Cycle reviews as they were issued."""

from django.conf import settings
from django.db import models
from django.utils import timezone

from turnwell.web.sterilizers.models.record import CycleRecord
from turnwell.web.sterilizers.models.sterilizer import Sterilizer

__all__ = ["IssuedReview"]


class IssuedReview(models.Model):
    """A review that left the shop, of one run or of months; its bytes are kept as they are."""

    sterilizer = models.ForeignKey(Sterilizer, on_delete=models.CASCADE, related_name="papers")
    record = models.ForeignKey(
        CycleRecord, null=True, blank=True, on_delete=models.CASCADE, related_name="papers"
    )
    file = models.ForeignKey("evidence.StoredFile", on_delete=models.PROTECT, related_name="+")
    issued_at = models.DateTimeField(default=timezone.now)
    issued_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        ordering = ["-issued_at", "-pk"]

    def __str__(self) -> str:
        return f"{self.sterilizer}: cycle review"
