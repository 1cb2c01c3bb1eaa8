"""Invitations: a code that lets one device in, once, for a few minutes."""

from __future__ import annotations

import secrets
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from threading import Lock

from watcher.page.access.keys import hash_of
from watcher.records.guests import Rights

GOOD_FOR_S = 600.0
MOST_OPEN = 8
"""More open invitations than this are not kept; the oldest ends first."""

CODE_BYTES = 16
"""128 bits: short enough for a small QR code, and beyond any guessing within minutes."""


@dataclass(frozen=True, slots=True)
class Invitation:
    """What an open code is good for."""

    rights: Rights
    name: str
    ends_s: float


class Invitations:
    """The open invitations of a running bench. They are kept in memory alone, and only as hashes.

    Parameters
    ----------
    now_s : callable
        Gives steady seconds. [s]
    """

    def __init__(self, now_s: Callable[[], float]) -> None:
        self._now_s = now_s
        self._lock = Lock()
        self._open: OrderedDict[str, Invitation] = OrderedDict()

    def make(self, rights: Rights, name: str = "", *, good_for_s: float = GOOD_FOR_S) -> str:
        """Return a new code."""
        code = secrets.token_urlsafe(CODE_BYTES)
        with self._lock:
            self._open[hash_of(code)] = Invitation(rights, name, self._now_s() + good_for_s)
            while len(self._open) > MOST_OPEN:
                self._open.popitem(last=False)
        return code

    def take(self, code: str) -> Invitation | None:
        """Use a code up: return what it is good for, or None if it is not open (any more)."""
        with self._lock:
            found = self._open.pop(hash_of(code), None)
        return found if found is not None and self._now_s() < found.ends_s else None
