"""What a soak puts in the place of camera and phones: sightings handed over, letters written down."""

from __future__ import annotations

import gc
import os
from collections import Counter
from functools import _lru_cache_wrapper
from pathlib import Path
from threading import Lock

from watcher.alerts.channels import Channel
from watcher.alerts.senders import Senders
from watcher.records.frames import Blind, Frame, NoFrame
from watcher.records.letters import Outgoing, SendFailed, Sent
from watcher.records.readings import Sighting

PHONE = "phone"


class Shown:
    """A source that shows what it was given last."""

    def __init__(self, first: Frame | NoFrame | Sighting) -> None:
        self._shown = first

    def show(self, given: Frame | NoFrame | Sighting) -> None:
        """Show this from now on."""
        self._shown = given

    def newest(self) -> Frame | NoFrame | Sighting:
        """Return what is shown."""
        return self._shown

    def close(self) -> None:
        """Let go of the last picture."""
        last = self._shown
        if isinstance(last, Frame):
            self._shown = NoFrame(last.camera, last.taken_s, last.taken_at, Blind.UNPLUGGED)


class WritesDown(Senders):
    """Takes every letter and counts it; goes on over restarts as a phone does."""

    def __init__(self) -> None:
        super().__init__([Channel(PHONE, "speaker://")])
        self._lock = Lock()
        self._got: Counter[tuple[str, str, int]] = Counter()
        self.letters = 0
        self.marked = 0

    def deliver(self, outgoing: Outgoing) -> Sent | SendFailed:
        """Write one letter down."""
        letter = outgoing.letter
        with self._lock:
            self.letters += 1
            self.marked += outgoing.repeat
            if not outgoing.repeat:
                self._got[
                    letter.title, "/".join(letter.alert_ids) + f"@{letter.written_s:.0f}", letter.step
                ] += 1
        return Sent(letter.channel)

    @property
    def unmarked_repeats(self) -> int:
        """How often a letter came a second time without the word that it may be a repeat."""
        with self._lock:
            return sum(count - 1 for count in self._got.values())

    def forget(self) -> None:
        """Let go of letters that cannot come again, so that counting them is no leak of its own."""
        with self._lock:
            repeats = {key: count for key, count in self._got.items() if count > 1}
            self._got = Counter(repeats)


def forget_old_run() -> None:
    """Clear what the page's library remembers of pages that are gone: a real restart is a new process."""
    for one in gc.get_objects():
        if isinstance(one, _lru_cache_wrapper) and (one.__module__ or "").startswith("fastapi"):
            one.cache_clear()
    gc.collect()


def memory_mb() -> float:
    """Return how much memory this process holds (resident). [MB]."""
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


def open_files() -> int:
    """Return how many files and sockets this process has open."""
    return len(os.listdir("/proc/self/fd"))


def folder_mb(folder: Path) -> float:
    """Return how much a folder holds. [MB]."""
    return sum(file.stat().st_size for file in folder.rglob("*") if file.is_file()) / 1e6
