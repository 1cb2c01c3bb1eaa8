"""Small pictures of the pour holes, kept by the day under a budget of bytes and days; they never fill a disk.

    folder/2026-03-03/beaker/083000.250.jpg
    folder/2026-03-03/beaker/083000.250-091500.mp4      a cast's film: when it began, when it was tipped

The names are the index: which pictures and films there are is what lies on the disk, so pruning can leave
nothing dangling. People and the rest of the room are not in them.
"""

from __future__ import annotations

import logging
import os
import re
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from hashlib import sha256
from pathlib import Path
from threading import Lock

_LOG = logging.getLogger(__name__)
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")
_NAME = re.compile(r"(\d{2})(\d{2})(\d{2})\.(\d{3})\.jpg")
_HEADROOM = 1.1  # more is freed than is needed to keep one, or none would ever be kept again
_UNSAFE = re.compile(r"[^\w-]+")


@dataclass(frozen=True, slots=True)
class Budget:
    """What the pictures may take.

    Attributes
    ----------
    most_bytes : int
        Oldest days go first when there are more.
    most_days : int
        Older days go.
    free_bytes : int
        The disk keeps this much free for the journal: below it nothing is kept, and oldest days go.
    """

    most_bytes: int = 4_000_000_000
    most_days: int = 30
    free_bytes: int = 1_000_000_000


@dataclass(frozen=True, slots=True)
class Kept:
    """One picture that is there. `taken_at` is to the millisecond."""

    path: Path
    taken_at: datetime
    size_bytes: int


class Crops:
    """The pictures of one bench.

    Parameters
    ----------
    folder : Path
        Is made when the first picture comes.
    budget : Budget
    free : callable
        How many bytes are free on the disk of a folder.
    """

    def __init__(
        self,
        folder: Path,
        budget: Budget | None = None,
        free: Callable[[Path], int] = lambda folder: shutil.disk_usage(folder).free,
    ) -> None:
        self._folder = folder
        self._budget = budget if budget is not None else Budget()
        self._free = free
        self._lock = Lock()
        self.trouble = ""

    def keep(self, mould: str, taken_at: datetime, jpeg: bytes) -> Path | None:
        """Keep one picture; None, and a sentence in `trouble`, when there is no room for it.

        Losing a picture is never an error: the readings and casts are elsewhere.
        """
        path = self._path(mould, taken_at)
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            if self._free(self._folder) - len(jpeg) < self._budget.free_bytes:
                self._say("the disk is nearly full: no pictures are kept until space is freed")
                return None
            half = path.with_suffix(".part")
            half.write_bytes(jpeg)
            half.replace(path)
        except OSError as fault:
            self._say(f"pictures cannot be kept: {fault.strerror}")
            return None
        self._say("")
        return path

    def pictures(self, mould: str, since: datetime, until: datetime) -> tuple[Kept, ...]:
        """Return the pictures of a mould between two moments, oldest first."""
        found = []
        for day in self._days():
            if not since.astimezone(UTC).date() <= day <= until.astimezone(UTC).date():
                continue
            found += [kept for kept in _in_day(self._folder / str(day) / safe_name(mould), day)]
        return tuple(
            kept for kept in sorted(found, key=lambda kept: kept.taken_at) if since <= kept.taken_at <= until
        )

    def read(self, mould: str, taken_at: datetime) -> bytes | None:
        """Return one picture by the moment that `pictures` gave; None where it is not there any more."""
        try:
            return self._path(mould, taken_at).read_bytes()
        except OSError:
            return None

    def film(self, mould: str, began_at: datetime, tipped_at: datetime) -> Path | None:
        """Return the film of a cast; None where there is none (any more)."""
        path = self._film_path(mould, began_at, tipped_at)
        return path if path.is_file() else None

    def room_for_film(
        self, mould: str, began_at: datetime, tipped_at: datetime, most_bytes: int
    ) -> Path | None:
        """Return where a cast's film of at most so many bytes is to lie; None where there is no room for it.

        Its day's pictures must be there still: with them it goes.
        """
        path = self._film_path(mould, began_at, tipped_at)
        if not path.parent.is_dir() or self._free(self._folder) - most_bytes < self._budget.free_bytes:
            return None
        return path

    def _film_path(self, mould: str, began_at: datetime, tipped_at: datetime) -> Path:
        begins = self._path(mould, began_at)
        return begins.with_name(f"{begins.stem}-{tipped_at.astimezone(UTC):%H%M%S}.mp4")

    def _path(self, mould: str, taken_at: datetime) -> Path:
        moment = taken_at.astimezone(UTC)
        name = f"{moment:%H%M%S}.{moment.microsecond // 1000:03d}.jpg"
        return self._folder / f"{moment:%Y-%m-%d}" / safe_name(mould) / name

    def prune(self, now: datetime) -> int:
        """Bring the pictures within their budget, oldest days first; return how many bytes went.

        Safe to do again at any time, and to be killed in.
        """
        with self._lock:
            days = self._days()
            sizes = {day: _size(self._folder / str(day)) for day in days}
            oldest = now.astimezone(UTC).date() - timedelta(days=self._budget.most_days)
            gone = 0
            for day in days:
                over = sum(sizes.values()) > self._budget.most_bytes
                tight = (
                    self._folder.is_dir() and self._free(self._folder) < self._budget.free_bytes * _HEADROOM
                )
                if day > oldest and not over and not tight:
                    break
                shutil.rmtree(self._folder / str(day), ignore_errors=True)
                gone += sizes.pop(day)
                _LOG.info("event=pictures_pruned day=%s bytes=%d", day, gone)
            return gone

    def _say(self, trouble: str) -> None:
        if trouble and trouble != self.trouble:
            _LOG.warning("event=pictures_not_kept why=%r", trouble)
        self.trouble = trouble

    def _days(self) -> list[date]:
        try:
            names = sorted(name for name in os.listdir(self._folder) if _DAY.fullmatch(name))
        except OSError:
            return []
        return [date.fromisoformat(name) for name in names if _is_date(name)]


def safe_name(mould: str) -> str:
    """Return a mould's name as a folder's name: it cannot lead anywhere else, and two names never meet."""
    plain = _UNSAFE.sub("_", mould)[:40]
    return plain if plain == mould and plain else f"{plain}-{sha256(mould.encode()).hexdigest()[:12]}"


def _in_day(folder: Path, day: date) -> list[Kept]:
    found = []
    try:
        entries = list(os.scandir(folder))
    except OSError:
        return []
    for entry in entries:
        match = _NAME.fullmatch(entry.name)
        if match is None:
            continue
        hour, minute, second, millisecond = (int(part) for part in match.groups())
        if hour < 24 and minute < 60 and second < 60:
            at = datetime(day.year, day.month, day.day, hour, minute, second, millisecond * 1000, UTC)
            found.append(Kept(Path(entry.path), at, entry.stat().st_size))
    return found


def _size(folder: Path) -> int:
    total = 0
    for root, _, names in os.walk(folder):
        for name in names:
            try:
                total += os.stat(os.path.join(root, name)).st_size
            except OSError:
                continue
    return total


def _is_date(name: str) -> bool:
    try:
        date.fromisoformat(name)
    except ValueError:
        return False
    return True
