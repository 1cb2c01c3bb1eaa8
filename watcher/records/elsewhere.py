"""A mould as another bench knows it, in the database that they share."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any


@dataclass(frozen=True, slots=True)
class MouldElsewhere:
    """A mould that another bench knows: versions of its profile, the newest one's moment, casts, cast now."""

    bench_id: str
    name: str
    versions: int
    kept_at: datetime
    casts: int
    casting: bool


@dataclass(frozen=True, slots=True)
class History:
    """All that another bench remembers of a mould.

    Attributes
    ----------
    bench_id, mould : str
    profiles : tuple of (str, str, datetime)
        Every version of its profile, oldest first: TOML, why it was made, when.
    rows : mapping of str to sequence of rows
        By table: its casts that have come to their end, and what belongs to them.
    now_s, now_at : float, datetime
        One moment by that bench's two clocks. [s]
    casting : bool
        Slip stands in it there now.
    """

    bench_id: str
    mould: str
    profiles: tuple[tuple[str, str, datetime], ...]
    rows: Mapping[str, Sequence[dict[str, Any]]]
    now_s: float
    now_at: datetime
    casting: bool
