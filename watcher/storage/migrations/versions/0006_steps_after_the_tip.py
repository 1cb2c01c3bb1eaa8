"""What came after the tip of each cast is kept with it: draining, upright, cut, letting go, demoulded."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Take this step."""
    with op.batch_alter_table("casts") as casts:
        casts.add_column(sa.Column("steps", sa.Text(), nullable=False, server_default="{}"))


def downgrade() -> None:
    """There is no way back: put a backup in place instead."""
    raise NotImplementedError
