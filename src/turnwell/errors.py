"""The errors this package raises on purpose.

::

    TurnwellError
    ├── InputError (ValueError)          a value given is wrong: says which, and what to do
    │   ├── UnreadableFileError          a file cannot be read as what it claims to be
    │   └── CatalogueError               a catalogue file holds a bad entry: names file and key
    ├── CannotTellError                  the evidence cannot answer: says why and what would
    ├── ChangedMeanwhileError            somebody else changed the thing first
    ├── NotAllowedError (PermissionError) this person may not do that
    └── StageError                       a job is not at the stage that the action needs

Anything else that escapes is a bug and stays a traceback.
"""

__all__ = [
    "CannotTellError",
    "CatalogueError",
    "ChangedMeanwhileError",
    "InputError",
    "NotAllowedError",
    "StageError",
    "TurnwellError",
    "UnreadableFileError",
]


class TurnwellError(Exception):
    """Anything this package refuses on purpose; its text is one clear sentence."""


class InputError(TurnwellError, ValueError):
    """A value given is wrong."""


class UnreadableFileError(InputError):
    """A file cannot be read as what it claims to be."""


class CatalogueError(InputError):
    """A catalogue file holds an entry that cannot be used."""


class CannotTellError(TurnwellError):
    """The evidence at hand cannot answer the question."""


class ChangedMeanwhileError(TurnwellError):
    """Somebody else changed the same thing first."""


class NotAllowedError(TurnwellError, PermissionError):
    """The person may not do that."""


class StageError(TurnwellError):
    """The job is not at the stage that the action needs."""
