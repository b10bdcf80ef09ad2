"""Reads of stored files: who may see them, and their bytes."""

from typing import TYPE_CHECKING, BinaryIO, Self

from django.apps import apps
from django.db import models
from django.db.models import Exists, OuterRef, Q

from turnwell.errors import InputError
from turnwell.web.evidence import storage

if TYPE_CHECKING:
    from turnwell.web.accounts.models import User
    from turnwell.web.evidence.models import StoredFile

__all__ = ["StoredFileQuerySet", "open_file"]


class StoredFileQuerySet(models.QuerySet["StoredFile"]):
    """Stored files as a person may see them."""

    def visible_to(self, user: "User") -> Self:
        """Keep the files this person may see: of an office, those of its jobs and sterilizers."""
        if user.is_shop:
            return self
        offices = {
            ("jobs", "Recording"): "test__job__office",
            ("jobs", "FindingPhoto"): "finding__job__office",
            ("jobs", "IssuedPaper"): "job__office",
            ("handpieces", "HandpieceModel"): "handpieces__office",
            ("sterilizers", "CycleRecord"): "sterilizer__office",
            ("sterilizers", "IssuedReview"): "sterilizer__office",
        }
        own = Q()
        for (app, model), office in offices.items():
            file = "instructions_file" if model == "HandpieceModel" else "file"
            rows = apps.get_model(app, model)._default_manager
            own |= Q(Exists(rows.filter(**{file: OuterRef("pk"), office: user.office_id})))
        return self.filter(own)

    def living(self) -> Self:
        """Keep the files whose bytes were not erased."""
        return self.filter(erased_at__isnull=True)


def open_file(file: "StoredFile") -> BinaryIO:
    """Open the bytes of a file as they were received, for reading.

    Raises
    ------
    InputError
        If they were erased, or are missing from the data folder.
    """
    if file.erased_at is not None:
        raise InputError(
            f"{file} was erased by {file.erased_by} on {file.erased_at:%Y-%m-%d}: {file.erased_why}"
        )
    try:
        return storage.path_of(file.sha256).open("rb")
    except OSError as error:
        raise InputError(
            f"{file} is missing from the data folder; run the check and restore a backup"
        ) from error
