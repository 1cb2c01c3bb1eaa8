"""A real small disk in memory for tests of what happens when it is full or may not be written."""

from __future__ import annotations

import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest


@contextmanager
def small_disk(folder: Path, size_kib: int) -> Iterator[Path]:
    """Mount a disk of this size; skips the test where mounting is not allowed."""
    folder.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", f"size={size_kib}k", "tmpfs", str(folder)]
    try:
        allowed = subprocess.run(mount, capture_output=True, check=False).returncode == 0
    except OSError:
        allowed = False
    if not allowed:
        pytest.skip("mounting a small disk is not allowed here")
    try:
        yield folder
    finally:
        subprocess.run(["umount", "-l", str(folder)], check=True)


def may_be_written(folder: Path, allowed: bool) -> None:
    """Switch a mounted disk between read-only and writable."""
    how = "rw" if allowed else "ro"
    subprocess.run(["mount", "-o", f"remount,{how}", str(folder)], check=True)


def more_room(folder: Path, size_kib: int) -> None:
    """Make a mounted disk larger."""
    subprocess.run(["mount", "-o", f"remount,size={size_kib}k", str(folder)], check=True)
