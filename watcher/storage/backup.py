"""A consistent copy of the journal while it is being written, and putting one back."""

from __future__ import annotations

import fcntl
import os
import sqlite3
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from watcher.storage.engine import REVISION


class BackupFailed(OSError):
    """A copy could not be made or put back. The message is a plain sentence."""


@dataclass(frozen=True, slots=True)
class Copy:
    """A copy that was made and found whole. `casts` is how many it holds."""

    path: Path
    size_bytes: int
    casts: int


def back_up(journal: Path, target: Path) -> Copy:
    """Copy the journal while the service runs.

    The copy is of one moment, whatever is written meanwhile. It is made under another name, checked and only
    then given its own, so a half-made copy is never taken for a whole one.

    Parameters
    ----------
    journal : Path
        The journal's file.
    target : Path
        The copy's file; an older copy of that name is replaced.

    Raises
    ------
    BackupFailed
        No journal there, no room, or the copy is not whole.
    """
    if not journal.is_file():
        raise BackupFailed(f"there is no journal at {journal}")
    if target.resolve() == journal.resolve():
        raise BackupFailed("the copy would replace the journal itself; give another name")
    half = target.with_name(target.name + ".part")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        half.unlink(missing_ok=True)
        with closing(sqlite3.connect(f"{journal.resolve().as_uri()}?mode=ro", uri=True)) as source:
            source.execute("VACUUM INTO ?", (str(half),))
        casts = _checked(half)
        _to_disk(half)
        half.replace(target)
        _to_disk(target.parent)
    except (OSError, sqlite3.Error) as fault:
        half.unlink(missing_ok=True)
        if isinstance(fault, BackupFailed):
            raise
        raise BackupFailed(f"the copy could not be made: {_plain(fault)}") from fault
    return Copy(target, target.stat().st_size, casts)


def put_back(copy: Path, journal: Path) -> Copy:
    """Put a copy in the journal's place; what stood there is kept beside it as `*.before`.

    Raises
    ------
    BackupFailed
        The copy is damaged or from a newer version, or the service is running.
    """
    if not copy.is_file():
        raise BackupFailed(f"there is no copy at {copy}")
    try:
        casts = _checked(copy)
        journal.parent.mkdir(parents=True, exist_ok=True)
        lock = os.open(
            journal.with_name(journal.name + ".lock"), os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600
        )
    except (OSError, sqlite3.Error) as fault:
        if isinstance(fault, BackupFailed):
            raise
        raise BackupFailed(f"the copy cannot be put back: {_plain(fault)}") from fault
    try:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        os.close(lock)
        raise BackupFailed("Tipbell is running; stop it first") from None
    try:
        _exchange(copy, journal)
    except OSError as fault:
        raise BackupFailed(f"the copy cannot be put back: {_plain(fault)}") from fault
    finally:
        os.close(lock)
    return Copy(journal, journal.stat().st_size, casts)


def _exchange(copy: Path, journal: Path) -> None:
    half = journal.with_name(journal.name + ".part")
    half.write_bytes(copy.read_bytes())
    _to_disk(half)
    # the log belongs to the file that it lies beside: left there, it would be written into the copy
    for ending in ("", "-wal", "-shm"):
        old = journal.with_name(journal.name + ending)
        if old.exists():
            old.replace(journal.with_name(f"{journal.name}.before{ending}"))
    half.replace(journal)
    _to_disk(journal.parent)


def _checked(path: Path) -> int:
    with closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)) as copy:
        try:
            if copy.execute("PRAGMA integrity_check").fetchone() != ("ok",):
                raise BackupFailed(f"{path.name} is damaged; take another copy")
            (revision,) = copy.execute("SELECT version_num FROM alembic_version").fetchone()
            (casts,) = copy.execute("SELECT count(*) FROM casts").fetchone()
        except (sqlite3.DatabaseError, TypeError):
            raise BackupFailed(f"{path.name} is no journal, or a damaged one; take another copy") from None
    if str(revision) > REVISION:
        raise BackupFailed(
            f"{path.name} was written by a newer Tipbell (revision {revision}); update this one"
        )
    return int(casts)


def _to_disk(path: Path) -> None:
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _plain(fault: Exception) -> str:
    said = fault.strerror if isinstance(fault, OSError) and fault.strerror else str(fault)
    return "no room is left on that disk" if "full" in said or "No space" in said else said
