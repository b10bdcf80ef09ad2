"""Takes files of a form in, within bounds, onto the disk of the data folder.

A file that is too large, that the disk has no room for or that comes from nobody signed in is
dropped while it arrives; the reason waits on the request for the form to show.
"""

from tempfile import NamedTemporaryFile
from typing import Any, NoReturn

from django.core.files.uploadedfile import UploadedFile
from django.core.files.uploadhandler import FileUploadHandler, SkipFile
from django.http import HttpRequest

from turnwell.errors import InputError, TurnwellError
from turnwell.web.evidence.kinds import KINDS, quoted
from turnwell.web.evidence.storage import cannot_keep, incoming_folder

__all__ = ["BoundedUploadHandler", "upload_refusal"]

MOST_BYTES = max(rules.most_bytes for rules in KINDS.values())


def upload_refusal(request: HttpRequest) -> TurnwellError | None:
    """Give why a file of this request was dropped while it arrived; None when none was.

    Known once the request's files were looked at.
    """
    request.FILES  # noqa: B018  # reads the body, if nobody has yet
    refusal: TurnwellError | None = getattr(request, "upload_refusal", None)
    return refusal


class ArrivingFile(UploadedFile):  # type: ignore[type-arg]  # no generic at run time
    """A file on its way in; gone when it is closed."""

    def __init__(self, name: str, content_type: str | None, charset: str | None) -> None:
        file = NamedTemporaryFile(suffix=".upload", dir=incoming_folder())  # noqa: SIM115  # closed by the request
        super().__init__(file, name, content_type, 0, charset)


class BoundedUploadHandler(FileUploadHandler):
    """Writes each file of a request to the data folder, chunk by chunk.

    The attribute `file` is there only while a file arrives; Django closes it when that breaks off.
    """

    file: ArrivingFile
    called = ""
    arrived = 0

    def new_file(self, *args: Any, **kwargs: Any) -> None:
        """Begin a file, if the one who sends it is signed in."""
        super().new_file(*args, **kwargs)
        user = getattr(self.request, "user", None)
        if not getattr(user, "is_authenticated", False):
            raise SkipFile
        self.called, self.arrived = quoted(self.file_name or ""), 0
        try:
            self.file = ArrivingFile(self.file_name or "", self.content_type, self.charset)
        except OSError as error:
            self._drop(cannot_keep(error, self.called))

    def receive_data_chunk(self, raw_data: bytes, start: int) -> None:  # noqa: ARG002  # Django's signature
        """Write the next piece."""
        self.arrived += len(raw_data)
        if self.arrived > MOST_BYTES:
            self._drop(
                InputError(f"{self.called} is larger than {MOST_BYTES / 1e6:,.0f} MB; send less")
            )
        try:
            self.file.write(raw_data)
        except OSError as error:
            self._drop(cannot_keep(error, self.called))

    def file_complete(self, file_size: int) -> ArrivingFile:
        """Give the whole file."""
        file = self.file
        del self.file
        file.seek(0)
        file.size = file_size
        return file

    def upload_interrupted(self) -> None:
        """Leave nothing of a file that broke off."""
        if hasattr(self, "file"):
            self.file.close()

    def _drop(self, because: TurnwellError) -> NoReturn:
        """Forget the file and keep the reason."""
        self.request.upload_refusal = because  # type: ignore[union-attr]  # read by `upload_refusal`
        if hasattr(self, "file"):
            self.file.close()
            del self.file
        raise SkipFile
