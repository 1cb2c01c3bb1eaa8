"""What is done now and then so that a bench can be watched for years: thin, prune, copy."""

from __future__ import annotations

import logging
from datetime import datetime
from pathlib import Path

from watcher.clock import Clock
from watcher.storage.backup import BackupFailed, back_up
from watcher.storage.crops import Crops
from watcher.storage.journal import Journal
from watcher.storage.writer import JournalFailed

_LOG = logging.getLogger(__name__)
COPIES = 7
"""Daily copies of the journal that are kept: on the same disk, against mistakes rather than its end."""


class Upkeep:
    """Done every few hours, in a thread of its own. Each part may be done again at any time, and be killed.

    Parameters
    ----------
    journal : Journal
    crops : Crops
    copies : Path
        Folder of the daily copies.
    clock : Clock
    """

    def __init__(self, journal: Journal, crops: Crops, copies: Path, clock: Clock) -> None:
        self._journal = journal
        self._crops = crops
        self._copies = copies
        self._clock = clock

    def do(self) -> None:
        """Prune pictures first, which makes room for the rest; then thin old readings; then copy."""
        now = self._clock.now_at()
        gone_bytes = self._crops.prune(now)
        try:
            gone_rows = self._journal.thin(self._clock.now_s())
            self._copy(now)
        except (JournalFailed, BackupFailed) as fault:
            _LOG.error("event=upkeep_failed why=%r", str(fault))
            return
        _LOG.info("event=upkeep pruned_bytes=%d thinned_rows=%d", gone_bytes, gone_rows)

    def _copy(self, now: datetime) -> None:
        today = self._copies / f"journal-{now:%Y-%m-%d}.db"
        if self._journal.path is None or today.exists():
            return
        back_up(self._journal.path, today)
        for old in sorted(self._copies.glob("journal-????-??-??.db"))[:-COPIES]:
            old.unlink(missing_ok=True)
