"""Office reviews as they were issued."""

from django.conf import settings
from django.db import models
from django.utils import timezone

from turnwell.web.offices.models import Office

__all__ = ["IssuedOfficeReview"]


class IssuedOfficeReview(models.Model):
    """A review that left the shop; its bytes are kept as they are."""

    office = models.ForeignKey(Office, on_delete=models.CASCADE, related_name="reviews")
    file = models.ForeignKey("evidence.StoredFile", on_delete=models.PROTECT, related_name="+")
    issued_at = models.DateTimeField(default=timezone.now)
    issued_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        ordering = ["-issued_at", "-pk"]

    def __str__(self) -> str:
        return f"{self.office}: office review"
