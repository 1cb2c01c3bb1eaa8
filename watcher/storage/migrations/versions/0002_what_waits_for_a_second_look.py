"""What waits for a second look is kept, so that a restart does not ask for two more."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Take this step."""
    with op.batch_alter_table("moulds") as moulds:
        moulds.add_column(sa.Column("pending", sa.Text(), nullable=False, server_default="[]"))
        moulds.add_column(sa.Column("doubt", sa.Text(), nullable=True))
        moulds.add_column(sa.Column("doubt_since_s", sa.Float(), nullable=True))


def downgrade() -> None:
    """There is no way back: put a backup in place instead."""
    raise NotImplementedError
