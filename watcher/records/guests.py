"""Whoever joined the page from another device, and what they may do."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum


class Rights(StrEnum):
    """What somebody may do. Each may also do what stands before it."""

    LOOK = "look"
    ACT = "act"  # say what was done, acknowledge, set up
    KEEP = "keep"  # let others in and take them out


@dataclass(frozen=True, slots=True)
class Guest:
    """One joined device.

    Attributes
    ----------
    guest_id : str
        Names it; no secret.
    name : str
        What the caster calls it.
    rights : Rights
        What it may do.
    joined_at, seen_at : datetime
        When it joined, and when it last asked for anything; aware, UTC.
    key_hash : str
        SHA-256 of the key that the device holds, as hexadecimal; the key itself is kept nowhere.
    """

    guest_id: str
    name: str
    rights: Rights
    joined_at: datetime
    seen_at: datetime
    key_hash: str = field(repr=False)
