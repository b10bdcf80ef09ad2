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
# The beginning of a code is looked for from this length on and with a figure in it: shorter ones,
# and plain words, would turn up codes that begin so by chance.
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
        tuple(_rows_of(Office.objects.all(), names.offices, words)) if user.is_shop else (),
        tuple(_rows_of(HandpieceModel.objects.all(), names.models, words)) if user.is_shop else (),
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
class _Name:
    """A name to compare, folded once, with the number of its row."""

    pk: int
    folded: str


@dataclass(frozen=True, slots=True)
class _Names:
    """The names that are compared here: few enough to read them all."""

    offices: Sequence[_Name]
    models: Sequence[_Name]

    @classmethod
    def visible_to(cls, user: User) -> "_Names":
        offices = Office.objects.visible_to(user).order_by("name").values_list("pk", "name")
        models = HandpieceModel.objects.order_by("name").values_list("pk", "name")
        return cls(
            [_Name(pk, _fold(name)) for pk, name in offices],
            [_Name(pk, _fold(name)) for pk, name in models],
        )

    def holding(self, word: str) -> Q:
        """Give the handpieces whose office, model or class holds a word."""
        bare = _fold(word)
        classes = [key for key, kind in load().classes.items() if bare in _fold(kind.name)]
        return (
            Q(class_key__in=classes)
            | Q(office__in=_holding(self.offices, [bare]))
            | Q(model__in=_holding(self.models, [bare]))
        )


def _holding(names: Iterable[_Name], bare: Sequence[str]) -> list[int]:
    """Give the numbers of the rows whose name holds every word."""
    return [name.pk for name in names if all(word in name.folded for word in bare)]


AnyNamed = TypeVar("AnyNamed", Office, HandpieceModel)


def _rows_of(
    rows: QuerySet[AnyNamed], names: Iterable[_Name], words: Sequence[str]
) -> list[AnyNamed]:
    """Give the rows whose name holds every word, by name."""
    keys = _holding(names, [_fold(word) for word in words])[:SHOWN]
    found = rows.in_bulk(keys) if keys else {}
    return [found[key] for key in keys]


def _handpieces(user: User, words: Sequence[str], names: _Names) -> QuerySet[Handpiece]:
    """Give the handpieces that hold every word, whole serials and beginnings first."""
    rows = Handpiece.objects.visible_to(user).with_place()
    for word in words:
        rows = rows.filter(names.holding(word) | Q(serial_folded__contains=word) | _code("H", word))
    together = "".join(words)
    weight = Case(
        When(serial_folded=together, then=Value(0)),
        When(serial_folded__startswith=together, then=Value(1)),
        default=Value(2),
        output_field=IntegerField(),
    )
    return rows.order_by(weight, "pk")


def _code(kind: str, word: str) -> Q:
    """Give the rows whose code begins with a word, with its kind's letter or without.

    Codes are as long as each other and hold only figures and capitals, so that a range of them is
    the same in every database's order of letters, and their index answers it.
    """
    part = word.upper().translate(MISREAD)
    is_part = SHORTEST_PART_OF_CODE <= len(part) <= LENGTH + 2 and any(map(str.isdigit, word))
    if not is_part or any(one not in ALPHABET for one in part):
        return Q(pk__in=())
    beginnings = [kind + part] if len(part) < LENGTH + 2 else []
    if part.startswith(kind):
        beginnings.append(part)
    found = Q(pk__in=())
    for beginning in beginnings:
        first = beginning.ljust(LENGTH + 2, ALPHABET[0])
        last = beginning.ljust(LENGTH + 2, ALPHABET[-1])
        found |= Q(code__gte=first, code__lte=last)
    return found


def _with_jobs(user: User, handpieces: Sequence[Handpiece]) -> tuple[FoundHandpiece, ...]:
    """Add to each handpiece how many jobs it has, and the open one."""
    jobs = Job.objects.visible_to(user).filter(handpiece__in=[row.pk for row in handpieces])
    counts = dict(jobs.order_by().values_list("handpiece").annotate(Count("pk")))
    still_here = {job.handpiece_id: job for job in jobs.open().order_by()}
    return tuple(
        FoundHandpiece(row, counts.get(row.pk, 0), still_here.get(row.pk)) for row in handpieces
    )


def _jobs_by_code(user: User, words: Sequence[str]) -> list[Job]:
    """Give the jobs whose code begins with what was typed, newest first."""
    rows = Job.objects.visible_to(user).filter(_code("J", "".join(words))).order_by("code")
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
