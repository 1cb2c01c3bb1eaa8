"""How loud each call has become is kept, so that a restart goes on from there and calls nobody twice."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Take this step."""
    with op.batch_alter_table("alerts") as alerts:
        alerts.add_column(sa.Column("step", sa.Integer(), nullable=False, server_default="0"))


def downgrade() -> None:
    """There is no way back: put a backup in place instead."""
    raise NotImplementedError
