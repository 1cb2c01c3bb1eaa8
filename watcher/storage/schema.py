"""The tables of the journal.

Every row carries the bench's id and a number that this bench alone gives out, so that the journals of
several benches can lie in one database. Rows that may still change also carry the number of their last
change: what is newer than a given number can be asked for. Times: `*_s` are the bench's steady seconds,
`*_at` moments in UTC, kept as whole microseconds since 1970 so that they compare and come back exactly.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    Dialect,
    Float,
    Index,
    Integer,
    MetaData,
    Table,
    Text,
    TypeDecorator,
    UniqueConstraint,
)

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_MICROSECOND = timedelta(microseconds=1)


class Moment(TypeDecorator[datetime]):
    """An aware moment in UTC as whole microseconds since 1970."""

    impl = BigInteger
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> int | None:
        """Turn a moment into microseconds."""
        return None if value is None else (value - _EPOCH) // _MICROSECOND

    def process_result_value(self, value: Any | None, dialect: Dialect) -> datetime | None:
        """Turn microseconds into a moment."""
        return None if value is None else _EPOCH + int(value) * _MICROSECOND


METADATA = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "pk": "pk_%(table_name)s",
    }
)


def numbered(name: str, *columns: Any, changes: bool = False, **options: Any) -> Table[Any]:
    """Make a table whose rows carry bench and number, and the last change's number where they may change."""
    own: list[Column[Any]] = [
        Column("bench_id", Text, primary_key=True),
        Column("seq", BigInteger, primary_key=True, autoincrement=False),
    ]
    if changes:
        own.append(Column("changed", BigInteger, nullable=False))
    return Table(name, METADATA, *own, *columns, **options)


BENCHES = Table(
    "benches",
    METADATA,
    Column("bench_id", Text, primary_key=True),
    Column("last_seq", BigInteger, nullable=False),
    Column("now_s", Float, nullable=False),
    Column("now_at", Moment, nullable=False),
    Column("boot_id", Text, nullable=False),
    Column("ahead_s", Float, nullable=False),
)
"""One row for each bench: its newest moment, by which it goes on after a restart."""

STARTS = numbered(
    "starts",
    Column("began_s", Float, nullable=False),
    Column("began_at", Moment, nullable=False),
    Column("boot_id", Text, nullable=False),
    Column("ahead_s", Float, nullable=False),
)
"""Each start of the service."""

MOULDS = numbered(
    "moulds",
    Column("name", Text, nullable=False),
    Column("stage", Text, nullable=False),
    Column("cast_id", Text),
    Column("in_service", Boolean, nullable=False),
    Column("casts_today", Integer, nullable=False),
    Column("last_empty_s", Float),
    Column("last_read_s", Float),
    Column("last_read_at", Moment),
    Column("notes", Text, nullable=False),
    Column("pending", Text, nullable=False, server_default="[]"),
    Column("doubt", Text),
    Column("doubt_since_s", Float),
    UniqueConstraint("bench_id", "name"),
    changes=True,
)
"""Where each mould stands now; `notes` and `pending` (readings waiting for a second one) are JSON lists."""

PAPERS = numbered(
    "papers",
    Column("kind", Text, nullable=False),
    Column("name", Text, nullable=False),
    Column("version", Integer, nullable=False),
    Column("content_hash", Text, nullable=False),
    Column("text", Text, nullable=False),
    Column("why", Text, nullable=False),
    Column("kept_at", Moment, nullable=False),
    UniqueConstraint("bench_id", "kind", "name", "version"),
)
"""Every version of mould profiles, slips and camera calibrations, as TOML with its hash. Only added to."""

CASTS = numbered(
    "casts",
    Column("cast_id", Text, nullable=False),
    Column("mould", Text, nullable=False),
    Column("number_today", Integer, nullable=False),
    Column("began_s", Float, nullable=False),
    Column("began_at", Moment, nullable=False),
    Column("boot_id", Text, nullable=False),
    Column("tipped_s", Float),
    Column("tipped_at", Moment),
    Column("forecast", Text, nullable=False),
    Column("leaking", Boolean, nullable=False),
    Column("taken_back", Boolean, nullable=False),
    Column("steps", Text, nullable=False, server_default="{}"),
    Column("profile_hash", Text, nullable=False),
    Column("slip_hash", Text, nullable=False),
    Column("figures", Text, nullable=False),
    UniqueConstraint("bench_id", "cast_id"),
    Index(None, "bench_id", "mould", "began_at"),
    changes=True,
)
"""Every cast, kept for ever. `figures` holds what was worked out for it at its newest moment, `steps` what
came after its tip, each as JSON."""

FILLINGS = numbered(
    "fillings",
    Column("cast_id", Text, nullable=False),
    Column("number", Integer, nullable=False),
    Column("kind", Text, nullable=False),
    Column("earliest_s", Float, nullable=False),
    Column("latest_s", Float, nullable=False),
    UniqueConstraint("bench_id", "cast_id", "number"),
    changes=True,
)

READINGS = numbered(
    "readings",
    Column("filling_seq", BigInteger, nullable=False),
    Column("at_s", Float, nullable=False),
    Column("level_mm", Float, nullable=False),
    Column("sigma_mm", Float, nullable=False),
    Column("drift_sigma_mm", Float, nullable=False),
    Column("placement", Integer, nullable=False),
    Column("clay_mm", Float, nullable=False, server_default="0"),
    Column("mm_per_clay_mm", Float, nullable=False, server_default="0"),
    Column("rim_share", Float, nullable=False, server_default="0"),
    Index(None, "bench_id", "filling_seq"),
    sqlite_with_rowid=False,
)

ESTIMATES = numbered(
    "estimates",
    Column("cast_id", Text, nullable=False),
    Column("at_s", Float, nullable=False),
    Column("figures", Text, nullable=False),
    Index(None, "bench_id", "cast_id"),
)
"""What was foretold, when; `figures` as in the casts."""

ALERTS = numbered(
    "alerts",
    Column("alert_id", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("mould", Text, nullable=False),
    Column("cast_id", Text, nullable=False),
    Column("at_s", Float, nullable=False),
    Column("at", Moment, nullable=False),
    Column("state", Text, nullable=False),
    Column("acked_at", Moment),
    Column("shelved_until_s", Float),
    Column("why", Text, nullable=False),
    Column("due_s", Float),
    Column("wall_mm", Float),
    Column("step", Integer, nullable=False, server_default="0"),
    UniqueConstraint("bench_id", "alert_id"),
    Index(None, "bench_id", "at_s"),
    changes=True,
)

EVENTS = numbered(
    "events",
    Column("mould", Text, nullable=False),
    Column("event", Text, nullable=False),
    Column("at_s", Float, nullable=False),
    Column("at", Moment, nullable=False),
    Column("detail", Text, nullable=False),
    Index(None, "bench_id", "mould", "at"),
)

SAID = numbered(
    "said",
    Column("what", Text, nullable=False),
    Column("at_s", Float, nullable=False),
    Column("at", Moment, nullable=False),
    Column("mould", Text, nullable=False),
    Column("cast_id", Text, nullable=False),
    Column("alert_id", Text, nullable=False),
    Column("value", Float),
    Column("note", Text, nullable=False),
    Column("who", Text, nullable=False),
    Column("word_id", Text, nullable=False, server_default=""),
    Index(None, "bench_id", "cast_id"),
)
"""What the caster said, notes included; `cast_id` is the mould's cast at that moment, `word_id` the word's
name where it came from another bench's page."""

OUTBOX = numbered(
    "outbox",
    Column("channel", Text, nullable=False),
    Column("title", Text, nullable=False),
    Column("text", Text, nullable=False),
    Column("written_s", Float, nullable=False),
    Column("written_at", Moment, nullable=False),
    Column("alert_ids", Text, nullable=False),
    Column("urgency", Text, nullable=False),
    Column("step", Integer, nullable=False),
    Column("state", Text, nullable=False),
    Column("tries", Integer, nullable=False),
    Column("repeat", Boolean, nullable=False),
    Column("why", Text, nullable=False),
    Index(None, "bench_id", "state"),
    changes=True,
)

GUESTS = numbered(
    "guests",
    Column("guest_id", Text, nullable=False),
    Column("name", Text, nullable=False),
    Column("rights", Text, nullable=False),
    Column("joined_at", Moment, nullable=False),
    Column("seen_at", Moment, nullable=False),
    Column("key_hash", Text, nullable=False),
    UniqueConstraint("bench_id", "guest_id"),
    UniqueConstraint("bench_id", "key_hash"),
    changes=True,
)
"""Devices that joined the page, with the SHA-256 of each one's key. One that is taken out is deleted."""

FINDINGS = numbered(
    "findings",
    Column("cast_id", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("at", Moment, nullable=False),
    Column("note", Text, nullable=False),
    Column("who", Text, nullable=False),
    Column("taken_back", Boolean, nullable=False),
    Index(None, "bench_id", "cast_id"),
    changes=True,
)
"""What was found on a cast, at once or weeks later: it came out clean, or a fault."""

PIECES = numbered(
    "pieces",
    Column("number", Integer, nullable=False),
    Column("cast_id", Text, nullable=False),
    Column("mould", Text, nullable=False),
    Column("made_at", Moment, nullable=False),
    UniqueConstraint("bench_id", "number"),
    UniqueConstraint("bench_id", "cast_id"),
)
"""Pieces with their numbers: one of a cast."""

PIECE_STEPS = numbered(
    "piece_steps",
    Column("number", Integer, nullable=False),
    Column("step", Text, nullable=False),
    Column("at", Moment, nullable=False),
    Column("cone", Text, nullable=False),
    Column("note", Text, nullable=False),
    Index(None, "bench_id", "number"),
)

WEIGHINGS = numbered(
    "weighings",
    Column("mould", Text, nullable=False),
    Column("at", Moment, nullable=False),
    Column("weight_kg", Float, nullable=False),
    Index(None, "bench_id", "mould"),
)
