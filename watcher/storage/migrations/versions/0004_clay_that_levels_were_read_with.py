"""The clay that each level was read with is kept, so that a fit after a restart is the one before it."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Take this step."""
    with op.batch_alter_table("readings") as readings:
        for name in ("clay_mm", "mm_per_clay_mm", "rim_share"):
            readings.add_column(sa.Column(name, sa.Float(), nullable=False, server_default="0"))


def downgrade() -> None:
    """There is no way back: put a backup in place instead."""
    raise NotImplementedError
