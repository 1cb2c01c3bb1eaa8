"""Tables that only benches with one database between them use; alone, a bench leaves them empty."""

from __future__ import annotations

from sqlalchemy import BigInteger, Boolean, Column, Float, Index, Integer, Table, Text, false, text

from watcher.storage.schema import METADATA, Moment, numbered

HOMES = Table(
    "homes",
    METADATA,
    Column("bench_id", Text, primary_key=True),
    Column("home_id", Text, nullable=False),
    Column("heard_at", Moment, nullable=False),
    Column("page", Text, nullable=False),
    Column("hours", Text, nullable=False, server_default=""),
    Column("zone", Text, nullable=False, server_default="UTC"),
    Column("gone", Boolean, nullable=False, server_default=false()),
)
"""Used where benches share a database: which memory a bench's rows come from, when it was last heard, whether
it was shut down then, and in which hours of its day it wants to be missed."""

SILENCES = Table(
    "silences",
    METADATA,
    Column("bench_id", Text, primary_key=True),
    Column("heard_at", Moment, nullable=False),
    Column("holder", Text, nullable=False),
    Column("until_us", BigInteger, nullable=False),
)
"""Shared: which bench calls because another one, `bench_id`, was heard last at that moment."""

CLAIMS = numbered(
    "claims",
    Column("holder", Text, nullable=False),
    Column("fence", BigInteger, nullable=False),
    Column("until_us", BigInteger, nullable=False),
    Column("arrived_us", BigInteger, nullable=False),
    Column("state", Text, nullable=False),
    Column("tries", Integer, nullable=False),
)
"""Shared: who may send a letter (bench and number are the letter's) until when, in microseconds of the
server's own clock."""

_HELD = text("cast_id <> ''")

HOLDS = numbered(
    "holds",
    Column("mould", Text, nullable=False),
    Column("cast_id", Text, nullable=False),
    Index("ux_holds_mould", "mould", unique=True, postgresql_where=_HELD, sqlite_where=_HELD),
)
"""Shared: the open cast of each mould, one at most; bench and number are those of the mould's row."""

INBOX = numbered(
    "inbox",
    Column("owner", Text, nullable=False),
    Column("what", Text, nullable=False),
    Column("mould", Text, nullable=False),
    Column("cast_id", Text, nullable=False),
    Column("alert_id", Text, nullable=False),
    Column("value", Float),
    Column("note", Text, nullable=False),
    Column("who", Text, nullable=False),
    Column("said_at", Moment, nullable=False),
    Column("taken_at", Moment),
    Column("answer", Text, nullable=False, server_default=""),
    Index(None, "owner", "taken_at"),
)
"""Shared: what was said on one bench's page to another, `owner`."""
