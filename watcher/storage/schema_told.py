"""The table of what the caster tells of moulds: reclaim, casts that nobody watched, hours in a drier."""

from __future__ import annotations

from sqlalchemy import Boolean, Column, Float, Index, Text

from watcher.storage.schema import Moment, numbered

TOLD = numbered(
    "told",
    Column("mould", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("at", Moment, nullable=False),
    Column("amount", Float, nullable=False),
    Column("warmth_c", Float),
    Column("cast_id", Text, nullable=False),
    Column("taken_back", Boolean, nullable=False),
    Index(None, "bench_id", "mould"),
    changes=True,
)
