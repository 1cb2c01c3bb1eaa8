"""`tipbell cut`: hold a measured wall against its cast, and sharpen the mould's profile by it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from models.calibration import Place, Questioned
from models.doors import BadValue
from models.profile_files import write_profile
from models.profile_text import ProfileFile, profile_to_text
from models.wall_basis import Basis
from watcher.camera.recording_fields import RecordingError
from watcher.camera.recording_file import read_bench_file
from watcher.clock import ComputerClock
from watcher.commands.refused import Refused
from watcher.records.kept import KeptCast
from watcher.records.layout import BenchLayout
from watcher.service.setting_up_slips import slip_under
from watcher.settings import Settings, read_settings
from watcher.setup.bench_file import BenchFile
from watcher.setup.bench_writing import write_bench
from watcher.setup.folder import SetupFolder
from watcher.setup.placing import merged, placed_mould
from watcher.setup.wall_test import Sharper, WallMeasured, sharper_by
from watcher.storage.engine import JournalUnusable
from watcher.storage.journal import Journal, open_journal
from watcher.storage.own_file import journal_url
from watcher.storage.papers import PaperKind
from watcher.storage.writer import JournalFailed

MOST_CASTS = 20


@dataclass(frozen=True, slots=True)
class CutWords:
    """What was typed: the mould, which of its casts (0: the last one tipped), and what was measured."""

    mould: str
    wall_mm: float
    place: str = "belly"
    basis: str = "wet"
    back: int = 0
    depth_mm: float | None = None
    sure: bool = False


def cut(path: Path, words: CutWords) -> None:
    """Sharpen a mould's profile by a wall that was measured after a tip.

    Parameters
    ----------
    path : Path
        The settings file.
    words : CutWords

    Raises
    ------
    SettingsError, Refused
        One sentence; a wall that does not fit is questioned, and nothing is changed.
    """
    settings, folder = read_settings(path), SetupFolder(path.resolve().parent)
    given = _given(words)
    try:
        described = read_bench_file(settings.bench.file)
        journal = open_journal(journal_url(settings), settings.bench.name)
    except (RecordingError, JournalUnusable) as fault:
        raise Refused(str(fault)) from None
    try:
        before = _known(described.layout, folder, words.mould)
        cast = _cast(journal, words)
        slip = slip_under(journal, cast.slip_hash) or described.slip
        assert cast.tipped_s is not None
        answer = sharper_by(before, slip, cast.fillings, cast.tipped_s, given)
        if isinstance(answer, Questioned):
            raise Refused(f"{answer.why}; where you looked again and it is so, add --sure")
        if described.unknown:
            raise Refused(f"{settings.bench.file.name} holds what is not known here; see `tipbell check`")
        _keep(settings, folder, journal, described.layout, answer, words)
    except (BadValue, JournalFailed) as fault:
        raise Refused(str(fault)) from None
    finally:
        journal.close()
    print(f"{words.mould}, cast of {cast.began_at:%Y-%m-%d %H:%M} UTC, {answer.water_ml:.0f} mL given up")
    for line in answer.sentences():
        print(line)


def _given(words: CutWords) -> WallMeasured:
    if words.place not in list(Place):
        raise Refused(f"--place is '{words.place}'; give spare, belly, foot or mean")
    if words.basis not in list(Basis):
        raise Refused(f"--state is '{words.basis}'; give wet, leather_hard, dry or fired")
    return WallMeasured(
        words.wall_mm,
        Place(words.place),
        Basis(words.basis),
        depth_mm=words.depth_mm,
        trust=words.sure,
    )


def _known(layout: BenchLayout, folder: SetupFolder, name: str) -> ProfileFile:
    try:
        placed = layout.mould(name)
    except KeyError:
        names = ", ".join(f"'{one.name}'" for one in layout.moulds)
        raise Refused(f"there is no mould '{name}' on this bench; known are {names}") from None
    known = {one.mould.name: one for one in folder.profiles()}
    return merged(placed, known.get(name))


def _cast(journal: Journal, words: CutWords) -> KeptCast:
    casts = journal.casts(words.mould, MOST_CASTS)
    tipped = [one for one in casts if one.tipped_s is not None and one.fillings]
    if not 0 <= words.back < len(tipped):
        raise Refused(
            f"{len(tipped)} tipped casts of '{words.mould}' are remembered; --back counts from 0, the last"
        )
    return tipped[words.back]


def _keep(
    settings: Settings,
    folder: SetupFolder,
    journal: Journal,
    layout: BenchLayout,
    answer: Sharper,
    words: CutWords,
) -> None:
    """Keep the new version in the memory, then in the files."""
    profile, why = answer.profile, f"cut test: {words.wall_mm:g} mm, {words.basis}, {words.place}"
    journal.keep(
        PaperKind.PROFILE, words.mould, profile_to_text(profile), why=why, at=ComputerClock().now_at()
    )
    moulds = tuple(placed_mould(profile) if one.name == words.mould else one for one in layout.moulds)
    changed = replace(layout, moulds=moulds)
    if changed.lens is None:
        raise Refused(f"{settings.bench.file.name} knows no lens; the new version is kept in the memory only")
    sheet = BenchFile(changed.sheet, changed.dictionary, {}, changed.up)
    described = read_bench_file(settings.bench.file)
    profiles = [merged(one, None) for one in changed.moulds]
    write_bench(settings.bench.file, changed.lens, sheet, described.slip, profiles, keep_before=True)
    folder.moulds.mkdir(parents=True, exist_ok=True)
    write_profile(folder.profile_path(words.mould), profile, replace=True)
