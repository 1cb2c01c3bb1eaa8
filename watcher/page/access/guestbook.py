"""The devices that joined: who holds a key, and whom it was taken from."""

from __future__ import annotations

import logging
import secrets
import unicodedata
from dataclasses import replace
from datetime import timedelta
from threading import Lock
from typing import Protocol

from watcher.clock import Clock
from watcher.page.access.keys import hash_of, new_key
from watcher.records.guests import Guest, Rights

log = logging.getLogger(__name__)

MOST_GUESTS = 40
MOST_NAME = 40
IDLE_DAYS = 90
"""A device that has not been here for so long must join again."""

NOTED_EVERY = timedelta(hours=12)
"""How often "seen" is written down: every request would wear out a memory card."""


class GuestStore(Protocol):
    """Where joined devices outlive a restart. Every method may raise OSError."""

    def guests(self) -> tuple[Guest, ...]:
        """Return all that are joined."""
        ...

    def add(self, guest: Guest) -> None:
        """Keep a new one."""
        ...

    def seen(self, guest: Guest) -> None:
        """Keep its newest `seen_at`."""
        ...

    def remove(self, guest_id: str) -> None:
        """Let it go for good."""
        ...


class TooManyGuests(Exception):
    """No more devices may join until one is taken out."""


class GuestBook:
    """Who is joined. Every method may be called from any thread.

    Parameters
    ----------
    clock : Clock
        The computer's clock (not a replay's).
    store : GuestStore, optional
        None: in memory alone.
    """

    def __init__(self, clock: Clock, store: GuestStore | None = None) -> None:
        self._clock = clock
        self._store = store
        self._lock = Lock()
        kept = store.guests() if store is not None else ()
        self._by_hash = {guest.key_hash: guest for guest in kept}
        self._noted = {guest.guest_id: guest.seen_at for guest in kept}

    def join(self, rights: Rights, name: str) -> tuple[Guest, str]:
        """Let a device in; return it with its key, which is told this once.

        Raises
        ------
        TooManyGuests
            Until one is taken out.
        OSError
            It cannot be kept; nothing was changed.
        """
        key, now_at = new_key(), self._clock.now_at()
        with self._lock:
            if len(self._by_hash) >= MOST_GUESTS:
                raise TooManyGuests
            called = plain_name(name) or f"phone {len(self._by_hash) + 1}"
        guest = Guest(secrets.token_hex(6), called, rights, now_at, now_at, hash_of(key))
        if self._store is not None:
            self._store.add(guest)
        with self._lock:
            self._by_hash[guest.key_hash] = guest
            self._noted[guest.guest_id] = now_at
        log.info("event=joined guest=%s rights=%s", guest.guest_id, rights)
        return guest, key

    def known(self, key: str) -> Guest | None:
        """Return who holds this key, noting that they were here; None if nobody (any more)."""
        now_at = self._clock.now_at()
        with self._lock:
            guest = self._by_hash.get(hash_of(key))
            if guest is None or now_at - guest.seen_at > timedelta(days=IDLE_DAYS):
                return None
            guest = self._by_hash[guest.key_hash] = replace(guest, seen_at=now_at)
        return guest

    def must_note(self) -> bool:
        """Say whether `note` has something to write."""
        with self._lock:
            return bool(self._due())

    def note(self) -> None:
        """Write down who was here lately. Slow: not for the event loop."""
        with self._lock:
            due = self._due()
            self._noted.update({guest.guest_id: guest.seen_at for guest in due})
        if self._store is None:
            return
        for guest in due:
            try:
                self._store.seen(guest)
            except OSError as fault:
                log.warning("event=guest_not_noted guest=%s why=%r", guest.guest_id, str(fault))

    def _due(self) -> list[Guest]:
        return [
            guest
            for guest in self._by_hash.values()
            if guest.seen_at - self._noted.get(guest.guest_id, guest.joined_at) > NOTED_EVERY
        ]

    def is_joined(self, guest_id: str) -> bool:
        """Say whether this device is still joined."""
        with self._lock:
            return any(guest.guest_id == guest_id for guest in self._by_hash.values())

    def all(self) -> tuple[Guest, ...]:
        """Return all joined devices, the newest first."""
        with self._lock:
            return tuple(sorted(self._by_hash.values(), key=lambda guest: guest.joined_at, reverse=True))

    def take_out(self, guest_id: str) -> bool:
        """End a device's session at once; False if there is none of that id.

        Raises
        ------
        OSError
            It is out, but that cannot be kept: a restart would let it in again.
        """
        with self._lock:
            found = next((one for one in self._by_hash.values() if one.guest_id == guest_id), None)
            if found is not None:
                del self._by_hash[found.key_hash]
                self._noted.pop(guest_id, None)
        if self._store is not None:
            self._store.remove(guest_id)  # also for one that is unknown here: an earlier try may have failed
        if found is not None:
            log.info("event=taken_out guest=%s", guest_id)
        return found is not None


def plain_name(name: str) -> str:
    """Return a name without signs that cannot be seen or that turn the writing round."""
    plain = (sign for sign in name if unicodedata.category(sign)[0] != "C" and sign not in "\u2028\u2029")
    return " ".join("".join(plain).split())[:MOST_NAME].strip()
