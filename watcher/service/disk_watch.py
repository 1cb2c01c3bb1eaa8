"""Notice that the disk fills, while there is still room for the journal."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

LEAST_FREE_BYTES = 500_000_000
"""Pictures stop at twice this and are pruned; whatever eats the rest is something else, and the journal is
next (common practice, no source). [bytes]"""

ENOUGH_AGAIN = 1.2
"""Free space must grow to so many times the least before it is enough again."""

EVERY_S = 30.0


def free_bytes(folder: Path) -> int:
    """Return how much is free where a folder lies."""
    return shutil.disk_usage(folder).free


class DiskWatch:
    """Says when the disk of the memory's folder fills.

    Parameters
    ----------
    folder : Path
    now_s : callable
        The bench's steady seconds.
    free : callable
        Gives the free bytes of a folder.
    """

    def __init__(
        self, folder: Path, now_s: Callable[[], float], free: Callable[[Path], int] = free_bytes
    ) -> None:
        self._folder = folder
        self._now_s = now_s
        self._free = free
        self._looked_s = float("-inf")
        self._why = ""

    def why(self) -> str:
        """Return what is to be said; empty while there is room. Looks at most every half minute."""
        now_s = self._now_s()
        if now_s - self._looked_s >= EVERY_S:
            self._looked_s = now_s
            self._look()
        return self._why

    def _look(self) -> None:
        try:
            free = self._free(self._folder)
        except OSError:
            return  # a disk that does not answer is the journal's own trouble
        least = LEAST_FREE_BYTES * (ENOUGH_AGAIN if self._why else 1.0)
        if free >= least:
            self._why = ""
        elif not self._why or free < LEAST_FREE_BYTES:
            self._why = f"the disk fills up ({free / 1e6:.0f} MB free at {self._folder.name}): make room"
