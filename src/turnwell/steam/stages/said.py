"""The record's own stage text as evidence: what its words mean in several languages."""

import re
from collections import Counter

import numpy as np

from turnwell.steam.record import Record
from turnwell.steam.stage import StageKind

__all__ = ["said_kind", "said_share"]

# Beginnings of the words that sterilizers print, common practice; each language by its own spelling
# without accents. The first that fits counts, so that "vacuum drying" is drying.
WORDS: tuple[tuple[StageKind, tuple[str, ...]], ...] = (
    (
        StageKind.DRYING,
        (r"\bdry", "trock", r"\bsech", r"\bsecag", r"\bseca", "asciug", r"\btork", "susz", "kuiv"),
    ),
    (
        StageKind.AIR_INLET,
        (r"air in", "beluft", "druckausgl", "rentree", "aerat", "aireac", "aerac", "equali[sz]"),
    ),
    (
        StageKind.EXHAUST,
        (r"exhaust", r"\bvent", "depress", "release", "ablass", "druckabb", "scaric", "escape"),
    ),
    (
        StageKind.AIR_REMOVAL,
        ("air rem", "vac", "vak", "vuoto", "puls", "evak", "entluft", "purg", "flush", "condit"),
    ),
    (
        StageKind.HEATING,
        (
            "heat",
            "heiz",
            "erwarm",
            "chauff",
            "riscald",
            "calent",
            "aquec",
            "opwarm",
            "varm",
            "warm",
        ),
    ),
    (
        StageKind.PLATEAU,
        ("steril", "hold", "plateau", "halte", "exposi", "esposi", "equilib", "maint", "manten"),
    ),
)
_PATTERNS = tuple((kind, re.compile("|".join(words))) for kind, words in WORDS)
_ACCENTS = str.maketrans("äöüàáâãåèéêëìíîïòóôõùúûýñç", "aouaaaaaeeeeiiiioooouuuync")


def said_kind(text: str) -> StageKind | None:
    """Tell which stage a word of a record means; None where it says nothing known.

    >>> said_kind("Trocknung").value, said_kind("PREVAC 2").value, said_kind("ok")
    ('drying', 'air removal', None)
    """
    plain = text.casefold().translate(_ACCENTS)
    for kind, pattern in _PATTERNS:
        if pattern.search(plain):
            return kind
    return None


def said_share(record: Record, kind: StageKind, start_s: float, stop_s: float) -> float | None:
    """Give the share of rows of a stretch whose text means this stage; None where none says any."""
    if record.stage_text is None:
        return None
    inside = np.flatnonzero((record.time_s >= start_s) & (record.time_s <= stop_s)).tolist()
    words = Counter(record.stage_text[index] for index in inside)
    meant = Counter[StageKind]()
    for word, count in words.items():
        if word and (found := said_kind(word)) is not None:
            meant[found] += count
    total = sum(meant.values())
    return None if not total else meant[kind] / total
