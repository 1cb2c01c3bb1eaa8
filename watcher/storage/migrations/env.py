"""Run the schema's steps on the connection that `engine` hands over."""

from __future__ import annotations

from alembic import context

from watcher.storage import schema_shared, schema_told
from watcher.storage.schema import METADATA

assert schema_shared.HOMES.metadata is METADATA  # its tables are among them
assert schema_told.TOLD.metadata is METADATA


def _run() -> None:
    context.configure(
        connection=context.config.attributes["connection"],
        target_metadata=METADATA,
        # SQLite can change a table only by making it anew
        render_as_batch=True,
        transactional_ddl=True,
    )
    with context.begin_transaction():
        context.run_migrations()


_run()
