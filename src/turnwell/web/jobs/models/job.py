"""A job, the stage it is at, and how it came there."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils import timezone

from turnwell.web.jobs.queries import JobQuerySet
from turnwell.web.shared.entries import Entry

__all__ = ["Job", "JobNote", "Stage", "StageChange", "Waiting"]


class Stage(models.TextChoices):
    """How far a job has come; the last three end it."""

    TAKEN_IN = "taken_in", "Taken in"
    TESTED_AS_RECEIVED = "tested_as_received", "Tested as received"
    TORN_DOWN = "torn_down", "Torn down"
    ESTIMATED = "estimated", "Estimated"
    AGREED = "agreed", "Agreed"
    REBUILT = "rebuilt", "Rebuilt"
    PROVED = "proved", "Proved"
    HANDED_BACK = "handed_back", "Handed back"
    NOT_WORTH_REPAIRING = "not_worth_repairing", "Not worth repairing"
    HANDED_BACK_UNREPAIRED = "handed_back_unrepaired", "Handed back unrepaired"

    @property
    def is_end(self) -> bool:
        """True where the handpiece has left the bench."""
        return self in {Stage.HANDED_BACK, Stage.HANDED_BACK_UNREPAIRED}


class Waiting(models.TextChoices):
    """What a job waits for, beside its stage."""

    NOTHING = "", "Nothing"
    ANSWER = "answer", "The office's answer"
    PARTS = "parts", "Parts"
    SENT_OUT = "sent_out", "Sent out"


class Job(models.Model):
    """One stay of one handpiece at the bench."""

    class Reason(models.TextChoices):
        """Why it came; only a fault can count as a return."""

        FAULT = "fault", "A fault"
        PLANNED = "planned", "Planned service"
        TEST_ONLY = "test_only", "Test only"
        BACK_FROM_LOAN = "back_from_loan", "Back from loan"

    class SterilizedBy(models.TextChoices):
        """Who sterilized the handpiece before it was touched."""

        OFFICE = "office", "By the office"
        HERE = "here", "Here"

    code = models.CharField(max_length=7, unique=True)
    handpiece = models.ForeignKey(
        "handpieces.Handpiece", on_delete=models.PROTECT, related_name="jobs"
    )
    office = models.ForeignKey("offices.Office", on_delete=models.PROTECT, related_name="jobs")
    reason = models.CharField(max_length=14, choices=Reason, default=Reason.FAULT)
    complaints = models.JSONField(default=list, blank=True)
    complaint_words = models.TextField(blank=True)
    sterilized_by = models.CharField(max_length=6, choices=SterilizedBy)
    sterilizer_load = models.CharField(max_length=60, blank=True)
    known_cycles = models.PositiveIntegerField(null=True, blank=True)
    taken_in_at = models.DateTimeField(default=timezone.now)
    taken_in_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    stage = models.CharField(max_length=24, choices=Stage, default=Stage.TAKEN_IN)
    stage_since = models.DateTimeField(default=timezone.now)
    ended_at = models.DateTimeField(null=True, blank=True)
    waiting_for = models.CharField(max_length=8, choices=Waiting, blank=True, default="")
    waiting_owner = models.CharField(max_length=80, blank=True)
    waiting_since = models.DateTimeField(null=True, blank=True)
    version = models.PositiveIntegerField(default=1)

    objects = JobQuerySet.as_manager()

    class Meta:
        ordering = ["-taken_in_at", "-pk"]
        indexes = [
            models.Index(fields=["stage", "-stage_since", "-id"]),
            models.Index(fields=["office", "-taken_in_at", "-id"]),
            models.Index(fields=["handpiece", "-taken_in_at", "-id"]),
            models.Index(fields=["-taken_in_at", "-id"]),
            models.Index(
                fields=["-stage_since", "-id"],
                condition=Q(ended_at__isnull=True),
                name="jobs_job_open",
            ),
            # Tells by the sum of all versions that nothing changed, without reading the rows.
            models.Index(fields=["version", "id"], name="jobs_job_versions"),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["handpiece"],
                condition=Q(ended_at__isnull=True),
                name="one_open_job_a_handpiece",
            ),
            models.CheckConstraint(
                condition=Q(sterilized_by="office")
                | (Q(sterilized_by="here") & ~Q(sterilizer_load="")),
                name="sterilized_before_it_is_touched",
            ),
            models.CheckConstraint(
                condition=(Q(waiting_for="") & Q(waiting_since__isnull=True))
                | (~Q(waiting_for="") & Q(waiting_since__isnull=False)),
                name="waiting_has_a_beginning",
            ),
            models.CheckConstraint(
                condition=(
                    Q(stage__in=["handed_back", "handed_back_unrepaired"])
                    & Q(ended_at__isnull=False)
                )
                | (
                    ~Q(stage__in=["handed_back", "handed_back_unrepaired"])
                    & Q(ended_at__isnull=True)
                ),
                name="ended_when_handed_back",
            ),
        ]

    def __str__(self) -> str:
        return self.code

    def get_absolute_url(self) -> str:
        """Give the job's page."""
        return reverse("job", args=[self.code])


class StageChange(models.Model):
    """One step of a job, who made it and when."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="stage_changes")
    from_stage = models.CharField(max_length=24, choices=Stage, blank=True)
    to_stage = models.CharField(max_length=24, choices=Stage)
    at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    reason = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["at", "pk"]

    def __str__(self) -> str:
        return f"{self.job}: {self.to_stage}"


class JobNote(Entry):
    """A note on a job; no patient data."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="notes")
    text = models.TextField()

    class Meta(Entry.Meta):
        pass

    def __str__(self) -> str:
        return self.text[:60]
