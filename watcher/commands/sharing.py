"""The commands about the database that benches share, as they are typed."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer


class GoBy(StrEnum):
    """Whose figures count."""

    ASK = "ask"
    THEIRS = "theirs"
    OURS = "ours"


def add_to(app: typer.Typer, one_sentence: Callable[[], AbstractContextManager[None]]) -> None:
    """Add the command; `one_sentence` ends it with a sentence where what was given cannot be used."""

    @app.command()
    def share(
        to: Annotated[
            str, typer.Option("--to", help="The database, as postgresql+psycopg://...; else the settings'.")
        ] = "",
        instead: Annotated[
            bool, typer.Option("--instead", help="Take the place of another computer's bench of this name.")
        ] = False,
        settings: Annotated[Path, typer.Option("--settings", help="The settings file.")] = Path(
            "tipbell.toml"
        ),
    ) -> None:
        """Put the bench's memory into the database that benches share.

        The whole memory goes across at once, and the counts are compared.
        """
        with one_sentence():
            _share(settings, to, instead=instead)

    @app.command()
    def bring(
        mould: Annotated[str, typer.Argument(help="The mould's name.")],
        bench: Annotated[str, typer.Option("--from", help="The bench that knows it.")],
        go_by: Annotated[
            GoBy, typer.Option("--go-by", help="Whose figures count, where both benches have changed it.")
        ] = GoBy.ASK,
        settings: Annotated[Path, typer.Option("--settings", help="The settings file.")] = Path(
            "tipbell.toml"
        ),
    ) -> None:
        """Bring a mould of another bench here; stop the watching first.

        Its figures and its casts come with it.
        """
        with one_sentence():
            from watcher.commands.bring import bring as run

            run(settings, bench, mould, "" if go_by is GoBy.ASK else go_by.value)


def _share(path: Path, to: str, *, instead: bool) -> None:
    from watcher.commands.refused import Refused
    from watcher.settings import read_settings
    from watcher.storage.carrying import AnotherHome
    from watcher.storage.engine import JournalUnusable
    from watcher.storage.journal import open_journal
    from watcher.storage.moving import NotMoved, move
    from watcher.storage.own_file import journal_url
    from watcher.storage.writer import JournalFailed

    settings = read_settings(path)
    database = settings.memory.database
    url = to or ("" if database is None else database.get_secret_value())
    if not url.startswith("postgresql+psycopg://"):
        raise Refused('say which database: --to postgresql+psycopg://..., or database = "..." under [memory]')
    try:
        journal = open_journal(journal_url(settings), settings.bench.name)
        try:
            moved = move(journal, url, instead=instead)
        finally:
            journal.close()
    except (JournalUnusable, JournalFailed, AnotherHome, NotMoved) as fault:
        raise Refused(str(fault)) from None
    for table, rows in moved.there.items():
        print(f"{table:12} {moved.here[table]:>9} {rows:>9}")
    print(f"{settings.bench.name}: {moved.rows} rows, as many there as here")
    if database is None:
        print('Now name that database in the settings: database = "..." under [memory]')
