"""When a bench that shares its database wants to be missed, and which other one then calls."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Take this step."""
    with op.batch_alter_table("homes") as homes:
        homes.add_column(sa.Column("hours", sa.Text(), nullable=False, server_default=""))
        homes.add_column(sa.Column("zone", sa.Text(), nullable=False, server_default="UTC"))
        homes.add_column(sa.Column("gone", sa.Boolean(), nullable=False, server_default=sa.false()))
    op.create_table(
        "silences",
        sa.Column("bench_id", sa.Text(), nullable=False),
        sa.Column("heard_at", sa.BigInteger(), nullable=False),
        sa.Column("holder", sa.Text(), nullable=False),
        sa.Column("until_us", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("bench_id", name=op.f("pk_silences")),
    )


def downgrade() -> None:
    """There is no way back: put a backup in place instead."""
    raise NotImplementedError
