"""What is told of moulds: reclaim, casts that nobody watched, hours in a drier."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Take this step."""
    op.create_table(
        "told",
        sa.Column("bench_id", sa.Text(), nullable=False),
        sa.Column("seq", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("changed", sa.BigInteger(), nullable=False),
        sa.Column("mould", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("at", sa.BigInteger(), nullable=False),
        sa.Column("amount", sa.Float(), nullable=False),
        sa.Column("warmth_c", sa.Float()),
        sa.Column("cast_id", sa.Text(), nullable=False),
        sa.Column("taken_back", sa.Boolean(), nullable=False),
        sa.PrimaryKeyConstraint("bench_id", "seq", name=op.f("pk_told")),
    )
    op.create_index("ix_told_bench_id_mould", "told", ["bench_id", "mould"])


def downgrade() -> None:
    """There is no way back: put a backup in place instead."""
    raise NotImplementedError
