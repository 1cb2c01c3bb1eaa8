"""The commands that copy the memory, put a copy back, and list what runs here, as they are typed."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager
from pathlib import Path
from typing import Annotated

import typer

SettingsFile = Annotated[Path, typer.Option("--settings", help="The settings file.")]


def add_to(app: typer.Typer, one_sentence: Callable[[], AbstractContextManager[None]]) -> None:
    """Add these commands; `one_sentence` ends them with a sentence where what was given cannot be used."""

    @app.command()
    def backup(
        to: Annotated[Path, typer.Option("--to", help="The copy's file.")],
        settings: SettingsFile = Path("tipbell.toml"),
    ) -> None:
        """Copy the memory, also while the bench is watched.

        It holds casts, readings, profiles, calls and pieces.
        """
        with one_sentence():
            _backup(settings, to)

    @app.command()
    def restore(
        copy: Annotated[Path, typer.Option("--from", help="The copy's file.")],
        settings: SettingsFile = Path("tipbell.toml"),
    ) -> None:
        """Put a copy of the memory back; stop the watching first.

        What stood there is kept beside it.
        """
        with one_sentence():
            _restore(settings, copy)

    @app.command()
    def parts(
        as_json: Annotated[
            bool, typer.Option("--json", help="Print a bill of materials (CycloneDX).")
        ] = False,
    ) -> None:
        """List the packages that run here, with version and licence."""
        with one_sentence():
            from watcher.commands.parts import parts as run

            run(as_json=as_json)


def _backup(settings: Path, to: Path) -> None:
    from watcher.commands.refused import Refused
    from watcher.storage.backup import BackupFailed, back_up

    try:
        made = back_up(_journal_file(settings), to)
    except BackupFailed as fault:
        raise Refused(str(fault)) from None
    print(f"{made.path}: {made.casts} casts, {made.size_bytes / 1e6:.1f} MB; whole")


def _restore(settings: Path, copy: Path) -> None:
    from watcher.commands.refused import Refused
    from watcher.storage.backup import BackupFailed, put_back

    try:
        put = put_back(copy, _journal_file(settings))
    except BackupFailed as fault:
        raise Refused(str(fault)) from None
    print(f"{put.path}: {put.casts} casts; what stood there is kept as {put.path.name}.before")


def _journal_file(path: Path) -> Path:
    from watcher.commands.refused import Refused
    from watcher.settings import read_settings
    from watcher.storage.own_file import journal_file, journal_url

    settings = read_settings(path)
    database = settings.memory.database
    if database is not None and database.get_secret_value() == journal_url(settings):
        raise Refused("the memory is in a database file of its own: copy that file with SQLite's tools")
    return journal_file(settings)
