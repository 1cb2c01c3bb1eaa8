"""Where a bench's own journal lies: always in a file of its own, whether it shares a database or not."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import URL, make_url

from watcher.settings import Settings


def journal_url(settings: Settings) -> str:
    """Return where the bench's journal is, as `open_journal` takes it."""
    database = settings.memory.database
    if database is not None and make_url(database.get_secret_value()).get_backend_name() == "sqlite":
        return database.get_secret_value()
    return URL.create("sqlite", database=str(journal_file(settings))).render_as_string()


def journal_file(settings: Settings) -> Path:
    """Return the file of a journal in the memory's folder."""
    return settings.memory.folder / "journal.db"
