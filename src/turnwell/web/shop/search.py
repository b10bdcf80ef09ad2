"""Search by serial, office, code and model, the same on SQLite and PostgreSQL.

Each word must be found in the serial, the code, the office, the model or the class of a handpiece.
Serials and codes are compared in the database, folded the same way on both sides; names of offices
and models are few, so they are compared here, without upper case and accents, and go to the
database as numbers. No comparison is left to a database's own idea of a letter.
"""

import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TypeVar

from django.db.models import Case, Count, IntegerField, Q, QuerySet, Value, When

from turnwell.catalogue import load
from turnwell.web.accounts.models import User
from turnwell.web.handpieces.models import Handpiece, HandpieceModel
from turnwell.web.jobs.models import Job
from turnwell.web.offices.models import Office
from turnwell.web.shared.codes import ALPHABET, KINDS, LENGTH, MISREAD, read_code

__all__ = ["Found", "FoundHandpiece", "Piece", "by_code", "code_typed", "marked", "search"]

LONGEST = 120
MOST_WORDS = 8
SHOWN = 20
# A part of a code is looked for from this length on and with a figure in it: shorter ones, and
# plain words, would turn up codes that hold them by chance.
SHORTEST_PART_OF_CODE = 4


@dataclass(frozen=True, slots=True)
class Piece:
    """A stretch of text, marked or not."""

    text: str
    is_marked: bool


@dataclass(frozen=True, slots=True)
class FoundHandpiece:
    """A handpiece that was found, with how many jobs it has and the one that is open."""

    handpiece: Handpiece
    job_count: int
    open_job: Job | None


@dataclass(frozen=True, slots=True)
class Found:
    """What a search found.

    Parameters
    ----------
    typed : str
        What was searched for, cleaned.
    words : tuple of str
        As they are marked.
    go : Handpiece, Job, Office, HandpieceModel or None
        The one thing meant, to go straight to.
    is_cut : bool
        True where more handpieces fit than are given.
    is_misread_code : bool
        True for what looks like a code whose check character does not fit.
    """

    typed: str
    words: tuple[str, ...] = ()
    handpieces: tuple[FoundHandpiece, ...] = ()
    jobs: tuple[Job, ...] = ()
    offices: tuple[Office, ...] = ()
    models: tuple[HandpieceModel, ...] = ()
    go: Handpiece | Job | Office | HandpieceModel | None = None
    is_cut: bool = False
    is_misread_code: bool = False

    @property
    def count(self) -> int:
        """How many things are given."""
        return sum(map(len, (self.handpieces, self.jobs, self.offices, self.models)))


def search(user: User, typed: str) -> Found:
    """Find what was typed or scanned among what a person may see.

    Parameters
    ----------
    user : User
        People of an office find only their own handpieces and jobs.
    typed : str
        A code, the address of a QR code, a serial, or words.
    """
    text = _cleaned(typed)
    code = code_typed(text)
    direct = by_code(user, code) if code else None
    if direct is not None:
        return Found(text, go=direct)
    words = text.casefold().split()[:MOST_WORDS]
    if not words:
        return Found(text)
    exact = _exact_serial(user, text)
    if exact is not None:
        return Found(text, go=exact)
    names = _Names.visible_to(user)
    handpieces = list(_handpieces(user, words, names)[: SHOWN + 1])
    found = Found(
        text,
        tuple(_fold(word) for word in words),
        _with_jobs(user, handpieces[:SHOWN]),
        tuple(_jobs_by_code(user, words)),
        tuple(_named(names.offices, words)) if user.is_shop else (),
        tuple(_named(names.models, words)) if user.is_shop else (),
        is_cut=len(handpieces) > SHOWN,
        is_misread_code=not code and _looks_like_code(text),
    )
    return Found(text, go=_only_one(found)) if found.count == 1 else found


def by_code(user: User, code: str) -> Handpiece | Job | None:
    """Give the handpiece or job of a code, if this person may see it."""
    if code.startswith("H"):
        return Handpiece.objects.visible_to(user).filter(code=code).first()
    return Job.objects.visible_to(user).filter(code=code).first()


def code_typed(text: str) -> str | None:
    """Give the code in what was typed or scanned: the code itself, or the address of a QR code.

    >>> code_typed("https://bench.example/c/H15NM7J/"), code_typed("h 15nm7-j"), code_typed("07")
    ('H15NM7J', 'H15NM7J', None)
    """
    if "/c/" in text:
        text = text.rpartition("/c/")[2].strip("/")
    return read_code(text)


def marked(text: str, words: Iterable[str]) -> list[Piece]:
    """Cut a text into stretches, those marked that the words were found in.

    Upper case, accents, spaces and hyphens are set aside in the comparison, as in the search.

    >>> [piece.text for piece in marked("ASD-07", ["as", "07"]) if piece.is_marked]
    ['AS', '07']
    """
    letters, places = _letters(text)
    is_marked = [False] * len(text)
    for word in words:
        bare = word.replace("-", "")
        start = letters.find(bare) if bare else -1
        while start >= 0:
            first, last = places[start], places[start + len(bare) - 1]
            is_marked[first : last + 1] = [True] * (last + 1 - first)
            start = letters.find(bare, start + len(bare))
    pieces: list[Piece] = []
    for character, mark in zip(text, is_marked, strict=True):
        if pieces and pieces[-1].is_marked == mark:
            pieces[-1] = Piece(pieces[-1].text + character, mark)
        else:
            pieces.append(Piece(character, mark))
    return pieces


def _letters(text: str) -> tuple[str, list[int]]:
    """Give the letters compared, and for each the place in the text that it comes from."""
    letters, places = "", []
    for place, character in enumerate(text):
        folded = _fold(character).strip().replace("-", "")
        letters += folded
        places += [place] * len(folded)
    return letters, places


def _cleaned(typed: str) -> str:
    """Give what was typed without what cannot be in a name: NUL and other control characters."""
    printable = "".join(one if one.isprintable() else " " for one in typed[: 4 * LONGEST])
    return " ".join(printable.split())[:LONGEST]


def _fold(text: str) -> str:
    """Give a text without upper case and accents."""
    apart = unicodedata.normalize("NFKD", text.casefold())
    return "".join(one for one in apart if not unicodedata.combining(one))


def _looks_like_code(text: str) -> bool:
    folded = text.upper().translate(MISREAD)
    is_long_enough = len(folded) == LENGTH + 2 and folded[0] in KINDS
    return is_long_enough and all(one in ALPHABET for one in folded[1:])


def _exact_serial(user: User, text: str) -> Handpiece | None:
    """Give the handpiece of this very serial, where there is just one."""
    same = Handpiece.objects.visible_to(user).filter(serial_folded=Handpiece.folded(text))
    rows = list(same.order_by("pk")[:2])
    return rows[0] if len(rows) == 1 else None


@dataclass(frozen=True, slots=True)
class _Names:
    """The names that are compared here: few enough to read them all."""

    offices: Sequence[Office]
    models: Sequence[HandpieceModel]

    @classmethod
    def visible_to(cls, user: User) -> "_Names":
        return cls(
            list(Office.objects.visible_to(user).only("pk", "name").order_by("name")),
            list(HandpieceModel.objects.only("pk", "name", "class_key").order_by("name")),
        )

    def holding(self, word: str) -> Q:
        """Give the handpieces whose office, model or class holds a word."""
        bare = _fold(word)
        classes = [key for key, kind in load().classes.items() if bare in _fold(kind.name)]
        offices = [row.pk for row in self.offices if bare in _fold(row.name)]
        models = [row.pk for row in self.models if bare in _fold(row.name)]
        return Q(class_key__in=classes) | Q(office__in=offices) | Q(model__in=models)


AnyNamed = TypeVar("AnyNamed", Office, HandpieceModel)


def _named(rows: Iterable[AnyNamed], words: Sequence[str]) -> list[AnyNamed]:
    """Keep the rows whose name holds every word."""
    bare = [_fold(word) for word in words]
    return [row for row in rows if all(word in _fold(row.name) for word in bare)][:SHOWN]


def _handpieces(user: User, words: Sequence[str], names: _Names) -> QuerySet[Handpiece]:
    """Give the handpieces that hold every word, whole serials and beginnings first."""
    rows = Handpiece.objects.visible_to(user).with_place()
    for word in words:
        rows = rows.filter(names.holding(word) | Q(serial_folded__contains=word) | _code(word))
    together = "".join(words)
    weight = Case(
        When(serial_folded=together, then=Value(0)),
        When(serial_folded__startswith=together, then=Value(1)),
        default=Value(2),
        output_field=IntegerField(),
    )
    return rows.order_by(weight, "pk")


def _part_of_code(word: str) -> str:
    """Give a word as the part of a code that it may be; empty where it is none."""
    part = word.upper().translate(MISREAD)
    is_part = len(part) >= SHORTEST_PART_OF_CODE and any(one.isdigit() for one in word)
    return part if is_part and all(one in ALPHABET for one in part) else ""


def _code(word: str) -> Q:
    """Give the rows whose code holds a word."""
    part = _part_of_code(word)
    return Q(code__contains=part) if part else Q(pk__in=())


def _with_jobs(user: User, handpieces: Sequence[Handpiece]) -> tuple[FoundHandpiece, ...]:
    """Add to each handpiece how many jobs it has, and the open one."""
    jobs = Job.objects.visible_to(user).filter(handpiece__in=[row.pk for row in handpieces])
    counts = dict(jobs.order_by().values_list("handpiece").annotate(Count("pk")))
    still_here = {job.handpiece_id: job for job in jobs.open().order_by()}
    return tuple(
        FoundHandpiece(row, counts.get(row.pk, 0), still_here.get(row.pk)) for row in handpieces
    )


def _jobs_by_code(user: User, words: Sequence[str]) -> list[Job]:
    """Give the jobs whose code holds what was typed, newest first."""
    part = _part_of_code("".join(words))
    if not part:
        return []
    # In the order of the code, so that its index alone is read.
    rows = Job.objects.visible_to(user).filter(code__contains=part).order_by("code")
    return sorted(rows.with_handpiece()[:SHOWN], key=lambda job: job.taken_in_at, reverse=True)


def _only_one(found: Found) -> Handpiece | Job | Office | HandpieceModel:
    """Give the one thing that was found."""
    things: tuple[Handpiece | Job | Office | HandpieceModel, ...] = (
        *(row.handpiece for row in found.handpieces),
        *found.jobs,
        *found.offices,
        *found.models,
    )
    return things[0]
