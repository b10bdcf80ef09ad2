"""What the entries of the catalogue must keep among each other; each breach names file and key."""

from collections.abc import Iterable, Iterator, Mapping
from itertools import pairwise
from math import fsum, inf, isfinite
from typing import Any, get_args

from turnwell.catalogue.book import Catalogue
from turnwell.catalogue.rows import (
    ClassLimit,
    FeedWaterLimit,
    HandpieceClass,
    HandpieceGroup,
    Level,
    LoadPiece,
    RelativeLimit,
    SteamCycle,
)
from turnwell.errors import CatalogueError

__all__ = ["check"]

SHARE_TOLERANCE = 1e-6
# What an unverified belief may weigh, in returns seen.
HEAVIEST_BELIEF = 10.0


def check(catalogue: Catalogue) -> None:
    """Refuse a catalogue whose entries do not fit each other.

    Raises
    ------
    CatalogueError
        For the first breach found.
    """
    for breach in _breaches(catalogue):
        raise CatalogueError(breach)


def _breaches(catalogue: Catalogue) -> Iterator[str]:
    yield from _levels(catalogue)
    yield from _shares(catalogue)
    yield from _sources(catalogue)
    for row in catalogue.classes.values():
        yield from _class(row, catalogue)
    yield from _sterilizing(catalogue)
    yield from _effects(catalogue)
    yield from _paces(catalogue)
    yield from _findings(catalogue)
    yield from _links(catalogue)
    yield from _group_members(catalogue)


def _levels(catalogue: Catalogue) -> Iterator[str]:
    words = get_args(Level)
    if tuple(catalogue.levels) != words:
        yield f"levels.toml: must name {', '.join(words)} in this order"
        return
    for word, value in catalogue.levels.items():
        if not 0.0 < value < 1.0:
            yield f"levels.toml: {word} is {value}, must lie between 0 and 1, neither included"
    for (lower, low), (upper, high) in pairwise(catalogue.levels.items()):
        if not low < high:
            yield f"levels.toml: {upper} is {high}, must be above {lower}, {low}"


def _shares(catalogue: Catalogue) -> Iterator[str]:
    yield from _dangling("shares.toml", catalogue.shares, get_args(HandpieceGroup), "group")
    for group in get_args(HandpieceGroup):
        if group not in catalogue.shares:
            yield f"shares.toml: {group} is missing"
            continue
        shares = catalogue.shares[group]
        yield from _dangling(f"shares.toml: {group}", shares, catalogue.causes, "cause")
        for cause, share in shares.items():
            if not (isfinite(share) and 0.0 < share <= 1.0):
                yield f"shares.toml: {group}.{cause} is {share}, must be above 0 and at most 1"
        if abs(fsum(shares.values()) - 1.0) > SHARE_TOLERANCE:
            yield f"shares.toml: {group} sums to {fsum(shares.values()):.6g}, must sum to 1"


def _sources(catalogue: Catalogue) -> Iterator[str]:
    known = catalogue.sources
    for bearing in catalogue.bearings.values():
        yield from _dangling(f"bearings.toml: {bearing.key}", [bearing.source], known, "source")
    for step in catalogue.care_steps:
        yield from _dangling(f"care.toml: {step.key}", [step.source], known, "source")
    for kind in catalogue.classes.values():
        for limit in _all_limits(kind):
            where = f"classes.toml: {kind.key}: limit on {limit.reading_key}"
            yield from _dangling(where, [limit.source], known, "source")
    for row in catalogue.evidence.values():
        for cause, sources in row.sources.items():
            yield from _dangling(f"evidence.toml: {row.finding}.{cause}", sources, known, "source")


def _sterilizing(catalogue: Catalogue) -> Iterator[str]:
    """Check what belongs to sterilizers: sources, limits, a piece for every group of handpieces."""
    tables: dict[str, Mapping[str, SteamCycle | LoadPiece | FeedWaterLimit]] = {
        "cycles.toml": catalogue.cycles,
        "load_pieces.toml": catalogue.load_pieces,
        "feed_water.toml": catalogue.feed_water,
    }
    for name, rows in tables.items():
        for row in rows.values():
            yield from _dangling(f"{name}: {row.key}", [row.source], catalogue.sources, "source")
    for limit in catalogue.feed_water.values():
        where = f"feed_water.toml: {limit.key}"
        if limit.low is None and limit.high is None:
            yield f"{where}: give low, high or both"
        elif limit.low is not None and limit.high is not None and limit.low >= limit.high:
            yield f"{where}: low is {limit.low}, must be under high, {limit.high}"
    for group in (*get_args(HandpieceGroup), "pouch", "tray"):
        if group not in catalogue.load_pieces:
            yield f"load_pieces.toml: {group} is missing"


def _effects(catalogue: Catalogue) -> Iterator[str]:
    """Check that each cause of the office's care has its effect, and that none weighs too much."""
    yield from _dangling("effects.toml", catalogue.effects, catalogue.causes, "cause")
    for cause in catalogue.causes.values():
        if cause.office_care and cause.key not in catalogue.effects:
            yield f"effects.toml: {cause.key} is missing; causes.toml calls it the office's care"
        if not cause.office_care and cause.key in catalogue.effects:
            yield f"effects.toml: {cause.key} is not the office's care by causes.toml; leave it out"
    for row in catalogue.effects.values():
        where = f"effects.toml: {row.key}"
        yield from _dangling(where, [row.source], catalogue.sources, "source")
        if not row.alpha + row.beta <= HEAVIEST_BELIEF:
            yield (
                f"{where}: alpha + beta is {row.alpha + row.beta:g}, may be at most "
                f"{HEAVIEST_BELIEF:g}: a belief must give way to what a shop sees"
            )


def _paces(catalogue: Catalogue) -> Iterator[str]:
    yield from _dangling("paces.toml", catalogue.paces, catalogue.classes, "class")
    for key in catalogue.classes:
        if key not in catalogue.paces:
            yield f"paces.toml: {key} is missing"
    for row in catalogue.paces.values():
        where = f"paces.toml: {row.key}"
        yield from _dangling(where, [row.source], catalogue.sources, "source")
        if not row.low <= row.uses_a_working_day <= row.high < inf:
            yield f"{where}: uses_a_working_day must lie between low and high"


def _class(row: HandpieceClass, catalogue: Catalogue) -> Iterator[str]:
    where = f"classes.toml: {row.key}"
    yield from _dangling(where, row.leaves_out_causes, catalogue.causes, "cause")
    yield from _dangling(where, row.leaves_out_findings, catalogue.findings, "finding")
    if (row.speed_range_rpm is None) != (row.speed_at is None):
        yield f"{where}: speed_range_rpm and speed_at go together"
    if row.speed_range_rpm is not None and row.speed_range_rpm[0] >= row.speed_range_rpm[1]:
        yield f"{where}: speed_range_rpm must go from low to high"
    keys = [limit.reading_key for limit in _all_limits(row)]
    for key in {key for key in keys if keys.count(key) > 1}:
        yield f"{where}: has two limits on {key}"
    for limit in row.limits:
        yield from _limit(limit, where)


def _all_limits(kind: HandpieceClass) -> list[ClassLimit | RelativeLimit]:
    return [*kind.limits, *kind.relative_limits]


def _limit(limit: ClassLimit, where: str) -> Iterator[str]:
    where = f"{where}: limit on {limit.reading_key}"
    if limit.low is None and limit.high is None:
        yield f"{where} needs low, high or both"
    if any(side is not None and not isfinite(side) for side in (limit.low, limit.high)):
        yield f"{where} must be a finite number"
    if limit.low is not None and limit.high is not None and limit.low > limit.high:
        yield f"{where}: low {limit.low:g} is above high {limit.high:g}"


def _findings(catalogue: Catalogue) -> Iterator[str]:
    for key in catalogue.findings:
        if key not in catalogue.evidence:
            yield f"evidence.toml: {key} is missing"
        if key in catalogue.complaints:
            yield f"findings.toml: {key} is a complaint too; keys must differ"


def _links(catalogue: Catalogue) -> Iterator[str]:
    causes = catalogue.causes
    yield from _dangling("evidence.toml", catalogue.evidence, catalogue.findings, "finding")
    for row in catalogue.evidence.values():
        yield from _dangling(f"evidence.toml: {row.finding}", row.levels, causes, "cause")
    yield from _dangling("complaint_links.toml", catalogue.complaint_links, causes, "cause")
    for key in causes:
        if key not in catalogue.complaint_links:
            yield f"complaint_links.toml: {key} is missing"


def _group_members(catalogue: Catalogue) -> Iterator[str]:
    known = {**catalogue.findings, **catalogue.complaints}
    for group in catalogue.groups.values():
        where = f"groups.toml: {group.key}"
        yield from _dangling(where, group.members, known, "finding or complaint")
        if len(set(group.members)) != len(group.members):
            yield f"{where}: names a member twice"


def _dangling(
    where: str, keys: Iterable[str], known: Mapping[str, Any] | tuple[str, ...], what: str
) -> Iterator[str]:
    for key in keys:
        if key not in known:
            yield f"{where}: {key!r} is no {what} of the catalogue"
