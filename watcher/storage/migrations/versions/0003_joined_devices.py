"""Devices that joined the page."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Take this step."""
    op.create_table(
        "guests",
        sa.Column("bench_id", sa.Text(), nullable=False),
        sa.Column("seq", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("changed", sa.BigInteger(), nullable=False),
        sa.Column("guest_id", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("rights", sa.Text(), nullable=False),
        sa.Column("joined_at", sa.BigInteger(), nullable=False),
        sa.Column("seen_at", sa.BigInteger(), nullable=False),
        sa.Column("key_hash", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("bench_id", "seq", name=op.f("pk_guests")),
        sa.UniqueConstraint("bench_id", "guest_id", name=op.f("uq_guests_bench_id_guest_id")),
        sa.UniqueConstraint("bench_id", "key_hash", name=op.f("uq_guests_bench_id_key_hash")),
    )


def downgrade() -> None:
    """There is no way back: put a backup in place instead."""
    raise NotImplementedError
