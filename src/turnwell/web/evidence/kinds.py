"""What each kind of received file may be, and how large."""

from dataclasses import dataclass

from turnwell.web.evidence.models import StoredFile

__all__ = ["KINDS", "Rules", "quoted", "shown_name"]


@dataclass(frozen=True, slots=True)
class Rules:
    """Bounds of one kind of file.

    Parameters
    ----------
    most_bytes : int
        Largest file accepted.
    accept : str
        What the file field of a form offers.
    """

    most_bytes: int
    accept: str


KINDS = {
    StoredFile.Kind.RECORDING: Rules(500_000_000, "audio/*,video/*"),
    StoredFile.Kind.PHOTO: Rules(40_000_000, "image/jpeg,image/png,image/webp"),
    StoredFile.Kind.PAPER: Rules(40_000_000, "application/pdf"),
    StoredFile.Kind.INSTRUCTIONS: Rules(80_000_000, "application/pdf"),
    StoredFile.Kind.CYCLE_RECORD: Rules(
        20_000_000, ".csv,.tsv,.txt,.log,.dat,.prn,.xlsx,.ods,text/plain,text/csv"
    ),
}
LONGEST_NAME = 200


def shown_name(name: str) -> str:
    r"""Give a file's name as it is kept: without folders, without what cannot be printed.

    >>> shown_name("C:\\bench\\run\x00 1.wav"), shown_name("../../etc/run.wav")
    ('run 1.wav', 'run.wav')
    """
    last = name.replace("\\", "/").rsplit("/", 1)[-1]
    clean = "".join(character for character in last if character.isprintable()).strip()
    if len(clean) <= LONGEST_NAME:
        return clean
    stem, dot, ending = clean.rpartition(".")
    if not dot or len(ending) > 10:
        return clean[:LONGEST_NAME]
    return f"{stem[: LONGEST_NAME - len(ending) - 1]}.{ending}"


def quoted(name: str) -> str:
    """Give a file's name as a sentence speaks of it.

    >>> quoted("run.wav"), quoted("")
    ('“run.wav”', 'the file')
    """
    clean = shown_name(name)
    return f"“{clean}”" if clean else "the file"
