"""Keep the day's slip: in the bench's journal, and on the caster's word in the bench's file."""

from __future__ import annotations

import re
import tomllib
from datetime import datetime
from pathlib import Path

from models.doors import BadValue
from models.slip import Slip
from watcher.camera.recording_fields import RecordingError
from watcher.camera.recording_file import read_bench_file
from watcher.commands.refused import Refused
from watcher.desk.slip_paper import PAPER_NAME, paper_text
from watcher.desk.slip_reading import SlipMorning
from watcher.settings import Settings
from watcher.setup.toml_text import toml_text
from watcher.storage.engine import JournalUnusable
from watcher.storage.journal import open_journal
from watcher.storage.own_file import journal_url
from watcher.storage.papers import Paper, PaperKind
from watcher.storage.writer import JournalFailed

_SLIP_SECTION = re.compile(r"^[ \t]*\[slip\][ \t]*(?:#.*)?$(.*?)(?=^[ \t]*\[|\Z)", re.MULTILINE | re.DOTALL)
_GRAVITY_LINE = re.compile(r"^([ \t]*specific_gravity[ \t]*=[ \t]*)[^#\s]+", re.MULTILINE)


def bench_lines(slip: Slip) -> tuple[str, str]:
    """Return the two lines that stand under [slip] in a bench's file."""
    gravity, cake = toml_text(
        [("", {"specific_gravity": slip.specific_gravity, "cake_solids_fraction": slip.cake_solids_fraction})]
    ).split("\n")[-3:-1]
    return gravity, cake


def keep_slip(settings: Settings, morning: SlipMorning, slip: Slip, at: datetime) -> Paper:
    """Keep the slip in the journal; casts that begin from then on name it.

    Raises
    ------
    Refused
        The journal cannot be written, with the reason: for one, the bench is being watched just now.
    """
    try:
        journal = open_journal(journal_url(settings), settings.bench.name)
    except JournalUnusable as fault:
        raise Refused(f"the slip was not kept: {fault}") from None
    try:
        why = "" if morning.verdict is None else morning.verdict.verdict.value
        return journal.keep(PaperKind.SLIP, PAPER_NAME, paper_text(morning, slip), why=why, at=at)
    except JournalFailed as fault:
        raise Refused(f"the slip was not kept: {fault}") from None
    finally:
        journal.close()


def write_gravity(file: Path, slip: Slip) -> Path:
    """Put today's gravity into a bench's file; nothing else in it changes, and the old one is kept beside it.

    Returns
    -------
    Path
        The old file.

    Raises
    ------
    Refused
        The line is not there as expected, or the file cannot be written; then nothing is changed.
    """
    put_by_hand = f"put `{bench_lines(slip)[0]}` under [slip] by hand"
    before = file.with_name(f"{file.name}.before")
    draft = file.with_name(f".{file.name}.part")
    try:
        text = file.read_text(encoding="utf-8")
        changed = _with_gravity(text, slip.specific_gravity)
        if changed is None or not _only_gravity_differs(text, changed):
            raise Refused(
                f"{file.name} does not say its specific_gravity on a line of its own; {put_by_hand}"
            )
        draft.write_text(changed, encoding="utf-8")
        read_bench_file(draft)
        before.write_text(text, encoding="utf-8")
        draft.replace(file)
    except (RecordingError, BadValue) as fault:
        raise Refused(str(fault).replace(draft.name, file.name)) from None
    except OSError as fault:
        raise Refused(f"{file} cannot be changed ({fault.strerror}); {put_by_hand}") from None
    finally:
        draft.unlink(missing_ok=True)
    return before


def _with_gravity(text: str, gravity: float) -> str | None:
    section = _SLIP_SECTION.search(text)
    if section is None:
        return None
    body, count = _GRAVITY_LINE.subn(rf"\g<1>{gravity:.10g}", section.group(1))
    if count != 1:
        return None
    return text[: section.start(1)] + body + text[section.end(1) :]


def _only_gravity_differs(before: str, after: str) -> bool:
    old, new = tomllib.loads(before), tomllib.loads(after)
    old["slip"]["specific_gravity"] = new["slip"]["specific_gravity"]
    return old == new
