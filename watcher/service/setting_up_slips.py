"""The slip that a cast was poured with, as it was kept then."""

from __future__ import annotations

import tomllib

from models.slip import Slip, checked_slip
from watcher.storage.journal import Journal
from watcher.storage.papers import PaperKind
from watcher.storage.writer import JournalFailed

PAPER_NAME = "slip"


def slip_under(journal: Journal, content_hash: str) -> Slip | None:
    """Return the slip kept under a hash; None where none is, or it cannot be read."""
    if not content_hash:
        return None
    try:
        papers = journal.versions(PaperKind.SLIP, PAPER_NAME)
    except JournalFailed:
        return None
    for paper in papers:
        if paper.content_hash == content_hash:
            try:
                held = tomllib.loads(paper.text)["slip"]
                return checked_slip(
                    specific_gravity=held["specific_gravity"],
                    cake_solids_fraction=held["cake_solids_fraction"],
                )
            except (ValueError, RecursionError, KeyError, TypeError):
                return None
    return None
