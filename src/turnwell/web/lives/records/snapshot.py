"""The shop's rows at one moment, read whole or brought up to date block by block."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from turnwell.web.handpieces.models import Handpiece
from turnwell.web.jobs.models import Job
from turnwell.web.lives.records.reading import (
    Span,
    read_handpieces,
    read_jobs,
    read_offices,
    read_visits,
)
from turnwell.web.lives.records.stamp import BLOCK_BITS, Blocks, Stamp, blocks_of, stamp_now
from turnwell.web.lives.records.tables import (
    Handpieces,
    Jobs,
    Offices,
    Table,
    Visits,
    Words,
)

__all__ = ["Snapshot", "brought_up_to_date", "read_snapshot"]

TableT = TypeVar("TableT", bound=Table)

# More changed blocks than this, and reading all is as quick.
MOST_BLOCKS = 40


@dataclass(frozen=True, slots=True, eq=False)
class Snapshot:
    """The shop's rows.

    Parameters
    ----------
    stamp : Stamp
        Taken before the rows were read: rows may be newer than it, never older, and what is newer
        is read again the next time.
    words : Words
        What the codes in columns stand for.
    job_blocks, handpiece_blocks : Blocks
        By which the next change is found.
    """

    stamp: Stamp
    words: Words
    jobs: Jobs
    handpieces: Handpieces
    offices: Offices
    visits: Visits
    job_blocks: Blocks
    handpiece_blocks: Blocks


def read_snapshot(stamp: Stamp | None = None) -> Snapshot:
    """Read all rows."""
    words = Words()
    stamp = stamp or stamp_now()
    job_blocks, handpiece_blocks = blocks_of(Job), blocks_of(Handpiece)
    return Snapshot(
        stamp=stamp,
        words=words,
        jobs=read_jobs(words),
        handpieces=read_handpieces(words),
        offices=read_offices(words),
        visits=read_visits(),
        job_blocks=job_blocks,
        handpiece_blocks=handpiece_blocks,
    )


def brought_up_to_date(old: Snapshot, stamp: Stamp | None = None) -> Snapshot:
    """Give the rows as they are now, of which only what changed is read.

    Equal to `read_snapshot` but for the numbers that words have.
    """
    words = old.words.copy()
    stamp = stamp or stamp_now()
    job_blocks, handpiece_blocks = old.job_blocks, old.handpiece_blocks
    jobs, handpieces = old.jobs, old.handpieces
    if stamp.jobs != old.stamp.jobs:
        job_blocks = blocks_of(Job)
        jobs = _renewed(jobs, job_blocks.changed_from(old.job_blocks), words, read_jobs)
    if stamp.handpieces != old.stamp.handpieces:
        handpiece_blocks = blocks_of(Handpiece)
        handpieces = _renewed(
            handpieces,
            handpiece_blocks.changed_from(old.handpiece_blocks),
            words,
            read_handpieces,
        )
    return Snapshot(
        stamp=stamp,
        words=words,
        jobs=jobs,
        handpieces=handpieces,
        offices=old.offices if stamp.offices == old.stamp.offices else read_offices(words),
        visits=old.visits if stamp.visits == old.stamp.visits else read_visits(),
        job_blocks=job_blocks,
        handpiece_blocks=handpiece_blocks,
    )


def _renewed(
    table: TableT,
    blocks: NDArray[np.int64],
    words: Words,
    read: Callable[[Words, Sequence[Span] | None], TableT],
) -> TableT:
    """Put the rows of some blocks in the place of the old ones."""
    spans = _spans(blocks)
    if len(spans) > MOST_BLOCKS:
        return read(words, None)
    kept = table.chosen(~np.isin(table.pk >> BLOCK_BITS, blocks))
    return kept.with_rows(read(words, spans))


def _spans(blocks: NDArray[np.int64]) -> list[Span]:
    """Give the spans of keys of some blocks, neighbours taken together."""
    spans: list[Span] = []
    for block in blocks.tolist():
        span = Span(block << BLOCK_BITS, (block + 1) << BLOCK_BITS)
        if spans and spans[-1].end == span.first:
            span = Span(spans.pop().first, span.end)
        spans.append(span)
    return spans
