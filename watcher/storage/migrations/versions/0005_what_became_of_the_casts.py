"""What became of the casts: findings, pieces with their steps, moulds on the scale."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Take this step."""
    op.create_table(
        "findings",
        *_numbered("findings"),
        sa.Column("changed", sa.BigInteger(), nullable=False),
        sa.Column("cast_id", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("at", sa.BigInteger(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.Column("taken_back", sa.Boolean(), nullable=False),
    )
    op.create_index("ix_findings_bench_id_cast_id", "findings", ["bench_id", "cast_id"])
    op.create_table(
        "pieces",
        *_numbered("pieces"),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("cast_id", sa.Text(), nullable=False),
        sa.Column("mould", sa.Text(), nullable=False),
        sa.Column("made_at", sa.BigInteger(), nullable=False),
        sa.UniqueConstraint("bench_id", "number", name=op.f("uq_pieces_bench_id_number")),
        sa.UniqueConstraint("bench_id", "cast_id", name=op.f("uq_pieces_bench_id_cast_id")),
    )
    op.create_table(
        "piece_steps",
        *_numbered("piece_steps"),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("step", sa.Text(), nullable=False),
        sa.Column("at", sa.BigInteger(), nullable=False),
        sa.Column("cone", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
    )
    op.create_index("ix_piece_steps_bench_id_number", "piece_steps", ["bench_id", "number"])
    op.create_table(
        "weighings",
        *_numbered("weighings"),
        sa.Column("mould", sa.Text(), nullable=False),
        sa.Column("at", sa.BigInteger(), nullable=False),
        sa.Column("weight_kg", sa.Float(), nullable=False),
    )
    op.create_index("ix_weighings_bench_id_mould", "weighings", ["bench_id", "mould"])


def _numbered(table: str) -> tuple[Any, ...]:
    return (
        sa.Column("bench_id", sa.Text(), nullable=False),
        sa.Column("seq", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.PrimaryKeyConstraint("bench_id", "seq", name=op.f(f"pk_{table}")),
    )


def downgrade() -> None:
    """There is no way back: put a backup in place instead."""
    raise NotImplementedError
