"""People who sign in, and the one-time links that let the first one in."""

from django.contrib.auth.models import AbstractUser
from django.db import models
from django.db.models import Q

__all__ = ["Role", "SignInFailure", "SignInLink", "User"]


class Role(models.TextChoices):
    """What a person is in this shop."""

    OWNER = "owner", "Owner"
    TECHNICIAN = "technician", "Technician"
    OFFICE = "office", "Office"


class User(AbstractUser):
    """A person of the shop, or of one office that sees only its own."""

    role = models.CharField(max_length=12, choices=Role, default=Role.TECHNICIAN)
    office = models.ForeignKey(
        "offices.Office", null=True, blank=True, on_delete=models.PROTECT, related_name="people"
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=(Q(role="office") & Q(office__isnull=False))
                | (~Q(role="office") & Q(office__isnull=True)),
                name="office_people_have_an_office",
            )
        ]

    def __str__(self) -> str:
        return self.get_full_name() or self.username

    @property
    def is_shop(self) -> bool:
        """True for people of the shop, who see every office."""
        return self.role in {Role.OWNER, Role.TECHNICIAN}

    @property
    def is_owner(self) -> bool:
        """True for the person who may change settings and people."""
        return self.role == Role.OWNER


class SignInLink(models.Model):
    """A link that signs one person in, once, within its time; only its hash is kept."""

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="sign_in_links")
    token_sha256 = models.CharField(max_length=64, unique=True)
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return f"link for {self.user}"


class SignInFailure(models.Model):
    """One refused attempt to sign in; many in a short time close the door for a while."""

    name_folded = models.CharField(max_length=150)
    address = models.CharField(max_length=45, blank=True)
    at = models.DateTimeField()

    class Meta:
        indexes = [models.Index(fields=["name_folded", "-at"], name="accounts_failures_of_name")]

    def __str__(self) -> str:
        return f"{self.name_folded} at {self.at}"
