"""Keys that devices hold, and what is kept of them here."""

from __future__ import annotations

import hashlib
import secrets

KEY_BYTES = 32


def new_key() -> str:
    """Return a key of 256 random bits, safe in a cookie."""
    return secrets.token_urlsafe(KEY_BYTES)


def hash_of(secret: str) -> str:
    """Return the SHA-256 of a key or a code: what is kept does not open anything.

    A plain hash is enough, and looking it up needs no constant time: what is hashed is random, not chosen by
    a person, so that knowing a part of the hash brings nobody nearer.
    """
    return hashlib.sha256(secret.encode("utf-8", "surrogatepass")).hexdigest()
