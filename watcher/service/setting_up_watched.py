"""A bench that is watched while something of it is set up anew: changes reach it without a restart."""

from __future__ import annotations

import logging
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from threading import Lock

from models.doors import BadValue
from models.profile_files import write_profile
from models.profile_text import ProfileFile, profile_to_text
from models.slip import Slip
from watcher.camera.recording_fields import RecordingError
from watcher.camera.recording_file import read_bench_file
from watcher.page.setup.port import Unfit
from watcher.records.layout import BenchLayout
from watcher.service.running import RunningBench
from watcher.service.setting_up_shared import Elsewhere
from watcher.service.stand_ins import Source
from watcher.settings import Settings
from watcher.setup.bench_file import BenchFile
from watcher.setup.bench_writing import write_bench
from watcher.setup.folder import SetupFolder
from watcher.setup.lens_file import lens_text
from watcher.setup.placing import merged, placed_mould
from watcher.setup.sheet_file import sheet_table
from watcher.setup.toml_text import Table, toml_text
from watcher.storage.journal import Journal
from watcher.storage.papers import PaperKind
from watcher.storage.writer import JournalFailed

log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Watched:
    """What the set-up may use of a bench that is watched.

    `again`: assemble it anew from its settings; `elsewhere`: other benches' moulds, where there are others.
    """

    settings: Settings
    settings_path: Path
    running: RunningBench
    journal: Journal
    source: Source
    again: Callable[[], None]
    elsewhere: Elsewhere | None = None


def must_be_known(path: Path) -> None:
    """Raise `Unfit` where a bench's file holds what writing it anew would lose, or cannot be read."""
    try:
        unknown = read_bench_file(path).unknown
    except RecordingError as fault:
        raise Unfit(str(fault)) from None
    if unknown:
        raise Unfit(f"{path.name} holds what is not known here ({'; '.join(unknown)}); remove it first")


class WatchedProfiles:
    """The profiles of a watched bench: bench file, files of the set-up and memory are kept in step.

    Parameters
    ----------
    folder : SetupFolder
    watched : Watched
    """

    def __init__(self, folder: SetupFolder, watched: Watched) -> None:
        self._folder = folder
        self._watched = watched
        self._lock = Lock()

    def follow(self) -> None:
        """Let the set-up's files follow the bench's file, which is what counts; keep first versions."""
        bench = self._watched.running.bench()
        try:
            self._follow_parts(bench.layout)
            for placed in bench.layout.moulds:
                path = self._folder.profile_path(placed.name)
                newer = path.exists() and path.stat().st_mtime > self._bench_changed_s()
                known = self._known(placed.name)
                told = merged(placed, known)
                if not newer and told != known:
                    self._folder.moulds.mkdir(parents=True, exist_ok=True)
                    write_profile(path, told, replace=True)
                self._remember(told, "as the bench's file has it")
        except (OSError, BadValue, Unfit) as fault:
            log.warning("event=setup_not_followed why=%r", str(fault))

    def profile(self, name: str) -> ProfileFile:
        """Return what is known of a mould that is watched; `Unfit` where it is none."""
        try:
            placed = self._watched.running.bench().layout.mould(name)
        except KeyError:
            raise Unfit(f"there is no mould '{name}' on this bench", "mould") from None
        return merged(placed, self._known(name))

    def change(self, profile: ProfileFile, why: str) -> None:
        """Take a changed profile into use: memory first, then files, then the running bench."""
        with self._lock:
            bench = self._watched.running.bench()
            moulds = tuple(
                placed_mould(profile) if placed.name == profile.mould.name else placed
                for placed in bench.layout.moulds
            )
            self._remember(profile, why)
            self.write(replace(bench.layout, moulds=moulds), bench.slip)
            self._folder.moulds.mkdir(parents=True, exist_ok=True)
            write_profile(self._folder.profile_path(profile.mould.name), profile, replace=True)

    def write(self, layout: BenchLayout, slip: Slip) -> None:
        """Write the bench's file anew and let the running bench go by it."""
        path = self._watched.settings.bench.file
        must_be_known(path)
        if layout.lens is None:
            raise Unfit(f"{path.name} knows no lens; guess or measure it, and put the bench together")
        sheet = BenchFile(layout.sheet, layout.dictionary, {}, layout.up)
        profiles = [merged(placed, None) for placed in layout.moulds]
        try:
            write_bench(path, layout.lens, sheet, slip, profiles, keep_before=True)
        except BadValue as fault:
            raise Unfit(str(fault)) from None
        self._watched.running.renew(layout, slip)

    def keep_all(self, profiles: tuple[ProfileFile, ...], why: str) -> None:
        """Keep a version of each profile that says something new."""
        for profile in profiles:
            self._remember(profile, why)

    def _remember(self, profile: ProfileFile, why: str) -> None:
        try:
            self._watched.journal.keep(
                PaperKind.PROFILE,
                profile.mould.name,
                profile_to_text(profile),
                why=why,
                at=self._watched.running.now(),
            )
        except JournalFailed as fault:
            raise Unfit(f"the new version could not be kept: {fault}") from None

    def _known(self, name: str) -> ProfileFile | None:
        try:
            return next((one for one in self._folder.profiles() if one.mould.name == name), None)
        except BadValue:
            return None

    def _bench_changed_s(self) -> float:
        return self._watched.settings.bench.file.stat().st_mtime

    def _follow_parts(self, layout: BenchLayout) -> None:
        """Write lens and sheet of a bench that was not set up here, where there are none."""
        self._folder.own.mkdir(parents=True, exist_ok=True)
        if layout.lens is not None and not self._folder.lens.exists():
            self._folder.lens.write_text(lens_text(layout.lens), encoding="utf-8")
        if not self._folder.sheet.exists():
            tables: list[tuple[str, Table]] = [
                ("print", {"scale": 1.0, "scale_sigma": 0.005, "measured": True}),
                *[("[[sheet]]", sheet_table(tag, layout.dictionary)) for tag in layout.sheet],
            ]
            for one in layout.moulds:
                if one.card is not None:
                    size_mm = one.card.size_mm
                    card: Table = {"name": one.name, "tag_id": one.card.tag_id, "tag_size_mm": size_mm}
                    tables.append(("[[card]]", card))
            self._folder.sheet.write_text(toml_text(tables), encoding="utf-8")
