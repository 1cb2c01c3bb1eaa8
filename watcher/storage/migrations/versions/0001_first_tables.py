"""First tables."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Take this step."""
    op.create_table(
        "alerts",
        sa.Column("bench_id", sa.Text(), nullable=False),
        sa.Column("seq", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("changed", sa.BigInteger(), nullable=False),
        sa.Column("alert_id", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("mould", sa.Text(), nullable=False),
        sa.Column("cast_id", sa.Text(), nullable=False),
        sa.Column("at_s", sa.Float(), nullable=False),
        sa.Column("at", sa.BigInteger(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("acked_at", sa.BigInteger(), nullable=True),
        sa.Column("shelved_until_s", sa.Float(), nullable=True),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("due_s", sa.Float(), nullable=True),
        sa.Column("wall_mm", sa.Float(), nullable=True),
        sa.PrimaryKeyConstraint("bench_id", "seq", name=op.f("pk_alerts")),
        sa.UniqueConstraint("bench_id", "alert_id", name=op.f("uq_alerts_bench_id_alert_id")),
    )
    with op.batch_alter_table("alerts", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_alerts_bench_id_at_s"), ["bench_id", "at_s"], unique=False)

    op.create_table(
        "benches",
        sa.Column("bench_id", sa.Text(), nullable=False),
        sa.Column("last_seq", sa.BigInteger(), nullable=False),
        sa.Column("now_s", sa.Float(), nullable=False),
        sa.Column("now_at", sa.BigInteger(), nullable=False),
        sa.Column("boot_id", sa.Text(), nullable=False),
        sa.Column("ahead_s", sa.Float(), nullable=False),
        sa.PrimaryKeyConstraint("bench_id", name=op.f("pk_benches")),
    )
    op.create_table(
        "casts",
        sa.Column("bench_id", sa.Text(), nullable=False),
        sa.Column("seq", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("changed", sa.BigInteger(), nullable=False),
        sa.Column("cast_id", sa.Text(), nullable=False),
        sa.Column("mould", sa.Text(), nullable=False),
        sa.Column("number_today", sa.Integer(), nullable=False),
        sa.Column("began_s", sa.Float(), nullable=False),
        sa.Column("began_at", sa.BigInteger(), nullable=False),
        sa.Column("boot_id", sa.Text(), nullable=False),
        sa.Column("tipped_s", sa.Float(), nullable=True),
        sa.Column("tipped_at", sa.BigInteger(), nullable=True),
        sa.Column("forecast", sa.Text(), nullable=False),
        sa.Column("leaking", sa.Boolean(), nullable=False),
        sa.Column("taken_back", sa.Boolean(), nullable=False),
        sa.Column("profile_hash", sa.Text(), nullable=False),
        sa.Column("slip_hash", sa.Text(), nullable=False),
        sa.Column("figures", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("bench_id", "seq", name=op.f("pk_casts")),
        sa.UniqueConstraint("bench_id", "cast_id", name=op.f("uq_casts_bench_id_cast_id")),
    )
    with op.batch_alter_table("casts", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_casts_bench_id_mould_began_at"), ["bench_id", "mould", "began_at"], unique=False
        )

    op.create_table(
        "estimates",
        sa.Column("bench_id", sa.Text(), nullable=False),
        sa.Column("seq", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("cast_id", sa.Text(), nullable=False),
        sa.Column("at_s", sa.Float(), nullable=False),
        sa.Column("figures", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("bench_id", "seq", name=op.f("pk_estimates")),
    )
    with op.batch_alter_table("estimates", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_estimates_bench_id_cast_id"), ["bench_id", "cast_id"], unique=False
        )

    op.create_table(
        "events",
        sa.Column("bench_id", sa.Text(), nullable=False),
        sa.Column("seq", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("mould", sa.Text(), nullable=False),
        sa.Column("event", sa.Text(), nullable=False),
        sa.Column("at_s", sa.Float(), nullable=False),
        sa.Column("at", sa.BigInteger(), nullable=False),
        sa.Column("detail", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("bench_id", "seq", name=op.f("pk_events")),
    )
    with op.batch_alter_table("events", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_events_bench_id_mould_at"), ["bench_id", "mould", "at"], unique=False
        )

    op.create_table(
        "fillings",
        sa.Column("bench_id", sa.Text(), nullable=False),
        sa.Column("seq", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("changed", sa.BigInteger(), nullable=False),
        sa.Column("cast_id", sa.Text(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("earliest_s", sa.Float(), nullable=False),
        sa.Column("latest_s", sa.Float(), nullable=False),
        sa.PrimaryKeyConstraint("bench_id", "seq", name=op.f("pk_fillings")),
        sa.UniqueConstraint(
            "bench_id", "cast_id", "number", name=op.f("uq_fillings_bench_id_cast_id_number")
        ),
    )
    op.create_table(
        "moulds",
        sa.Column("bench_id", sa.Text(), nullable=False),
        sa.Column("seq", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("changed", sa.BigInteger(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("stage", sa.Text(), nullable=False),
        sa.Column("cast_id", sa.Text(), nullable=True),
        sa.Column("in_service", sa.Boolean(), nullable=False),
        sa.Column("casts_today", sa.Integer(), nullable=False),
        sa.Column("last_empty_s", sa.Float(), nullable=True),
        sa.Column("last_read_s", sa.Float(), nullable=True),
        sa.Column("last_read_at", sa.BigInteger(), nullable=True),
        sa.Column("notes", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("bench_id", "seq", name=op.f("pk_moulds")),
        sa.UniqueConstraint("bench_id", "name", name=op.f("uq_moulds_bench_id_name")),
    )
    op.create_table(
        "outbox",
        sa.Column("bench_id", sa.Text(), nullable=False),
        sa.Column("seq", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("changed", sa.BigInteger(), nullable=False),
        sa.Column("channel", sa.Text(), nullable=False),
        sa.Column("title", sa.Text(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("written_s", sa.Float(), nullable=False),
        sa.Column("written_at", sa.BigInteger(), nullable=False),
        sa.Column("alert_ids", sa.Text(), nullable=False),
        sa.Column("urgency", sa.Text(), nullable=False),
        sa.Column("step", sa.Integer(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("tries", sa.Integer(), nullable=False),
        sa.Column("repeat", sa.Boolean(), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("bench_id", "seq", name=op.f("pk_outbox")),
    )
    with op.batch_alter_table("outbox", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_outbox_bench_id_state"), ["bench_id", "state"], unique=False)

    op.create_table(
        "papers",
        sa.Column("bench_id", sa.Text(), nullable=False),
        sa.Column("seq", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("content_hash", sa.Text(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("kept_at", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("bench_id", "seq", name=op.f("pk_papers")),
        sa.UniqueConstraint(
            "bench_id", "kind", "name", "version", name=op.f("uq_papers_bench_id_kind_name_version")
        ),
    )
    op.create_table(
        "readings",
        sa.Column("bench_id", sa.Text(), nullable=False),
        sa.Column("seq", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("filling_seq", sa.BigInteger(), nullable=False),
        sa.Column("at_s", sa.Float(), nullable=False),
        sa.Column("level_mm", sa.Float(), nullable=False),
        sa.Column("sigma_mm", sa.Float(), nullable=False),
        sa.Column("drift_sigma_mm", sa.Float(), nullable=False),
        sa.Column("placement", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("bench_id", "seq", name=op.f("pk_readings")),
        sqlite_with_rowid=False,
    )
    with op.batch_alter_table("readings", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_readings_bench_id_filling_seq"), ["bench_id", "filling_seq"], unique=False
        )

    op.create_table(
        "said",
        sa.Column("bench_id", sa.Text(), nullable=False),
        sa.Column("seq", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("at_s", sa.Float(), nullable=False),
        sa.Column("at", sa.BigInteger(), nullable=False),
        sa.Column("mould", sa.Text(), nullable=False),
        sa.Column("cast_id", sa.Text(), nullable=False),
        sa.Column("alert_id", sa.Text(), nullable=False),
        sa.Column("value", sa.Float(), nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("bench_id", "seq", name=op.f("pk_said")),
    )
    with op.batch_alter_table("said", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_said_bench_id_cast_id"), ["bench_id", "cast_id"], unique=False)

    op.create_table(
        "starts",
        sa.Column("bench_id", sa.Text(), nullable=False),
        sa.Column("seq", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("began_s", sa.Float(), nullable=False),
        sa.Column("began_at", sa.BigInteger(), nullable=False),
        sa.Column("boot_id", sa.Text(), nullable=False),
        sa.Column("ahead_s", sa.Float(), nullable=False),
        sa.PrimaryKeyConstraint("bench_id", "seq", name=op.f("pk_starts")),
    )


def downgrade() -> None:
    """There is no way back: put a backup in place instead."""
    raise NotImplementedError
