"""`tipbell bring`: bring a mould of another bench here, with its figures and its casts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from models.profile_files import write_profile
from models.profile_text import ProfileCard, profile_from_text
from watcher.clock import resume
from watcher.commands.refused import Refused
from watcher.page.setup.port import Unfit
from watcher.service.setting_up_shared import Brings
from watcher.service.sharing import MouldsElsewhere, shared_url
from watcher.settings import read_settings
from watcher.setup.folder import SetupFolder
from watcher.storage.engine import JournalUnusable
from watcher.storage.journal import open_journal
from watcher.storage.link import Link
from watcher.storage.own_file import journal_url


def bring(path: Path, bench_id: str, mould: str, choice: str) -> None:
    """Bring one mould while the bench is not watched; its card is shown on the set-up page afterwards.

    Parameters
    ----------
    path : Path
        The settings file.
    bench_id, mould : str
    choice : str
        `theirs` or `ours`, where both benches have changed it; empty: ask.

    Raises
    ------
    SettingsError, Refused
        One sentence.
    """
    settings = read_settings(path)
    url = shared_url(settings)
    if url is None:
        raise Refused(
            'this bench shares no database: name it in the settings, database = "..." under [memory]'
        )
    folder = SetupFolder(path.resolve().parent)
    link = Link(url)
    try:
        journal = open_journal(journal_url(settings), settings.bench.name)
        try:
            clock = resume(journal.last_moment()).clock
            told = Brings(
                MouldsElsewhere(link, journal.bench_id),
                journal,
                lambda: (clock.now_s(), clock.now_at()),
                lambda text: _into(folder, text),
            ).bring(bench_id, mould, choice)
        finally:
            journal.close()
    except (JournalUnusable, Unfit) as fault:
        raise Refused(str(fault)) from None
    finally:
        link.close()
    if told.question:
        raise Refused(f"{told.question}; say --go-by theirs, or --go-by ours")
    print("\n".join(told.said))


def _into(folder: SetupFolder, text: str) -> Sequence[str]:
    """Write a profile into the set-up's folder; the card of one that is known there stays."""
    brought = profile_from_text(text, source="the profile")
    known = {one.mould.name: one for one in folder.profiles()}
    card = known[brought.mould.name].card if brought.mould.name in known else ProfileCard()
    folder.moulds.mkdir(parents=True, exist_ok=True)
    file = folder.profile_path(brought.mould.name)
    if file.exists():
        file.with_name(f"{file.name}.before").write_bytes(file.read_bytes())
    write_profile(file, replace(brought, card=card), replace=True)
    return (f"{file.name} is written; start the bench from the set-up page, or with tipbell bench",)
