"""Papers as they were issued."""

from django.conf import settings
from django.db import models
from django.utils import timezone

from turnwell.web.jobs.models.job import Job

__all__ = ["IssuedPaper"]


class IssuedPaper(models.Model):
    """A paper that left the shop: its bytes are kept and never computed again."""

    class Kind(models.TextChoices):
        """What the paper is."""

        TEST_SHEET = "test_sheet", "Test sheet"
        ESTIMATE = "estimate", "Estimate"

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="papers")
    kind = models.CharField(max_length=12, choices=Kind)
    file = models.ForeignKey("evidence.StoredFile", on_delete=models.PROTECT, related_name="+")
    issued_at = models.DateTimeField(default=timezone.now)
    issued_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        ordering = ["-issued_at", "-pk"]

    def __str__(self) -> str:
        return f"{self.job}: {self.get_kind_display()}"
