"""Several benches: whose rows they are, who may send a letter, who casts in a mould, words between them."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Take this step."""
    with op.batch_alter_table("said") as said:
        said.add_column(sa.Column("word_id", sa.Text(), nullable=False, server_default=""))
    op.create_table(
        "homes",
        sa.Column("bench_id", sa.Text(), nullable=False),
        *(sa.Column(name, sa.Text(), nullable=False) for name in ("home_id", "page")),
        sa.Column("heard_at", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("bench_id", name=op.f("pk_homes")),
    )
    op.create_table(
        "claims",
        *_own("claims"),
        *(sa.Column(name, sa.Text(), nullable=False) for name in ("holder", "state")),
        *(sa.Column(name, sa.BigInteger(), nullable=False) for name in ("fence", "until_us", "arrived_us")),
        sa.Column("tries", sa.Integer(), nullable=False),
    )
    op.create_table(
        "holds",
        *_own("holds"),
        *(sa.Column(name, sa.Text(), nullable=False) for name in ("mould", "cast_id")),
    )
    held = sa.text("cast_id <> ''")
    op.create_index(
        "ux_holds_mould", "holds", ["mould"], unique=True, postgresql_where=held, sqlite_where=held
    )
    words = ("owner", "what", "mould", "cast_id", "alert_id", "note", "who")
    op.create_table(
        "inbox",
        *_own("inbox"),
        *(sa.Column(name, sa.Text(), nullable=False) for name in words),
        sa.Column("value", sa.Float()),
        sa.Column("said_at", sa.BigInteger(), nullable=False),
        sa.Column("taken_at", sa.BigInteger()),
        sa.Column("answer", sa.Text(), nullable=False, server_default=""),
    )
    op.create_index(op.f("ix_inbox_owner_taken_at"), "inbox", ["owner", "taken_at"])


def _own(table: str) -> tuple[sa.schema.SchemaItem, ...]:
    return (
        sa.Column("bench_id", sa.Text(), nullable=False),
        sa.Column("seq", sa.BigInteger(), nullable=False, autoincrement=False),
        sa.PrimaryKeyConstraint("bench_id", "seq", name=op.f(f"pk_{table}")),
    )


def downgrade() -> None:
    """There is no way back: put a backup in place instead."""
    raise NotImplementedError
