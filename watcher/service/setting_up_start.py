"""All steps, what is done of them, and the last one: put everything together and watch."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from zoneinfo import ZoneInfo

from models.doors import BadValue
from models.slip import Slip, checked_slip
from watcher.camera.recording_file import read_bench_file
from watcher.page.setup.port import Unfit
from watcher.page.setup.shown import StepShown, StepState, Told
from watcher.page.setup.typed import StartTyped
from watcher.service.setting_up_calls import SetupCalls
from watcher.service.setting_up_camera import SetupCamera
from watcher.service.setting_up_lens import SetupLens
from watcher.service.setting_up_print import SetupCards
from watcher.service.setting_up_sheet import GUESSED, SetupSheet
from watcher.service.setting_up_watched import Watched, WatchedProfiles, must_be_known
from watcher.setup.bench_writing import what_it_asks, write_bench
from watcher.setup.folder import ChosenCamera, SetupFolder
from watcher.setup.toml_text import Table, toml_text

USUAL_SLIP = (1.75, 0.62)
HEADING = """A bench's settings, written by the set-up page; README.md tells what else can be set."""
DONE, MISSING, LATER, WRONG = StepState.DONE, StepState.MISSING, StepState.LATER, StepState.WRONG


class SetupStart:
    """The list of steps and the start.

    Parameters
    ----------
    folder : SetupFolder
    settings_path : Path
        Where the settings are, or will be written to.
    parts : tuple of SetupCamera, SetupCards, SetupLens, SetupSheet, SetupCalls
    watched : Watched or None
    port : int
        The page's port, written into new settings.
    begin : callable
        Told once everything is written and the bench can be watched.
    """

    def __init__(
        self,
        folder: SetupFolder,
        settings_path: Path,
        parts: tuple[SetupCamera, SetupCards, SetupLens, SetupSheet, SetupCalls],
        watched: Watched | None,
        *,
        port: int = 8417,
        begin: Callable[[], None] = lambda: None,
    ) -> None:
        self._folder = folder
        self._settings_path = settings_path
        self._camera, self._cards, self._lens, self._sheet, self._calls = parts
        self._watched = watched
        self._port = port
        self._begin = begin

    @property
    def home(self) -> str:
        """The folder that everything is written to."""
        return str(self._folder.home)

    @property
    def watching(self) -> bool:
        """Whether a bench is being watched already."""
        return self._watched is not None

    @property
    def zone(self) -> str:
        """Name of the bench's time zone."""
        return "UTC" if self._watched is None else self._watched.running.zone

    def slip(self) -> tuple[float, float]:
        """Return the slip's specific gravity and its cake's solids, as they stand now."""
        if self._watched is None:
            return USUAL_SLIP
        slip = self._watched.running.bench().slip
        return slip.specific_gravity, slip.cake_solids_fraction

    def steps(self) -> tuple[StepShown, ...]:
        """Return every step with what is done and what is missing."""
        return (
            self._camera_step(),
            self._print_step(),
            self._lens_step(),
            self._sheet_step(),
            self._mould_step(),
            StepShown("sight", LATER),
            StepShown("start", DONE if self.watching else MISSING),
            StepShown("phone", LATER),
            StepShown("calls", DONE if self._calls.channels() else LATER),
        )

    def start(self, typed: StartTyped) -> Told:
        """Put everything together and watch."""
        try:
            lens, sheet = self._lens.lens(), self._folder.read_sheet()
            slip = checked_slip(specific_gravity=typed.gravity, cake_solids_fraction=typed.cake)
            profiles = self._folder.profiles()
            chosen = self._folder.camera()
        except BadValue as fault:
            raise Unfit(str(fault)) from None
        if not profiles:
            raise Unfit("no mould has been taken in yet; take one in first")
        asks = tuple(line for one in profiles for line in what_it_asks(one, slip))
        if self._watched is not None:
            return self._use(slip, asks)
        if chosen is None:
            raise Unfit("no camera has been chosen yet; choose it first")
        try:
            write_bench(self._folder.home / "bench.toml", lens, sheet, slip, profiles, keep_before=True)
        except BadValue as fault:
            raise Unfit(str(fault)) from None
        self._write_settings(typed, chosen)
        self._begin()
        return Told((*asks, _watched_now(len(profiles))))

    def _use(self, slip: Slip, asks: tuple[str, ...]) -> Told:
        """Let the bench that is watched go by what was set up since."""
        assert self._watched is not None
        path = self._watched.settings.bench.file
        must_be_known(path)
        lens, sheet, profiles = self._lens.lens(), self._folder.read_sheet(), self._folder.profiles()
        try:
            write_bench(path, lens, sheet, slip, profiles, keep_before=True)
        except BadValue as fault:
            raise Unfit(str(fault)) from None
        WatchedProfiles(self._folder, self._watched).keep_all(profiles, "set up anew")
        self._watched.running.renew(read_bench_file(path).layout, slip)
        return Told((*asks, _watched_now(len(profiles))))

    def _write_settings(self, typed: StartTyped, chosen: ChosenCamera) -> None:
        """Write the settings where there are none: what somebody wrote there is not written over."""
        if self._settings_path.exists():
            return
        zone = typed.zone or "UTC"
        try:
            ZoneInfo(zone)
        except (KeyError, ValueError, OSError):
            say = f"'{zone}' is no time zone; give one such as Europe/Lisbon"
            raise Unfit(say, "zone") from None
        camera: dict[str, str | float | list[str]] = {"address": chosen.address, "every_s": typed.every_s}
        if chosen.address.startswith("/") and not chosen.address.startswith("/dev/"):
            camera["folders"] = [chosen.address]
        page: dict[str, int | bool] = {"port": self._port} | ({"open": True} if typed.open else {})
        tables: list[tuple[str, Table]] = [
            ("bench", {"name": typed.bench_name, "zone": zone, "file": "bench.toml"}),
            ("camera", camera),
            ("page", page),
            *[("[[channel]]", {"name": name, "address": address}) for name, address in self._calls.pending()],
        ]
        # camera and channels may hold passwords: nobody else on this computer may read the file
        new = os.open(self._settings_path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(new, "w", encoding="utf-8") as file:
            file.write(toml_text(tables, HEADING))
            file.flush()
            os.fsync(file.fileno())

    def _camera_step(self) -> StepShown:
        shown = self._camera.shown()
        if not shown.address:
            return StepShown("camera", MISSING)
        return StepShown("camera", WRONG if shown.why else DONE, shown.why or shown.address)

    def _print_step(self) -> StepShown:
        try:
            shown = self._cards.shown()
        except Unfit as unfit:
            return StepShown("print", WRONG, unfit.say)
        if shown.measured:
            return StepShown("print", DONE, _cards_made(len(shown.cards)))
        says = "print, and type the lines' true lengths" if shown.printed else ""
        return StepShown("print", MISSING, says)

    def _lens_step(self) -> StepShown:
        kind = self._lens.shown().kind
        if kind == "none":
            return StepShown("lens", MISSING)
        try:
            self._lens.lens()
        except Unfit as unfit:
            return StepShown("lens", WRONG, unfit.say)
        return StepShown("lens", DONE, "a guess: measure it when there is time" if kind == "guess" else "")

    def _sheet_step(self) -> StepShown:
        sheet = self._sheet.sheet()
        if sheet.seen:
            notes = [line.removeprefix("note: ") for line in sheet.says if line.startswith("note: ")]
            wrong = any(note != GUESSED for note in notes)
            return StepShown("sheet", WRONG if wrong else DONE, notes[0] if notes else "")
        if self.watching:
            return StepShown("sheet", DONE)
        return StepShown("sheet", WRONG if sheet.says else MISSING, sheet.says[0] if sheet.says else "")

    def _mould_step(self) -> StepShown:
        try:
            names = [one.mould.name for one in self._folder.profiles()]
        except BadValue as fault:
            return StepShown("mould", WRONG, str(fault))
        return StepShown("mould", DONE if names else MISSING, ", ".join(names))


def _watched_now(count: int) -> str:
    return "one mould is watched from now on" if count == 1 else f"{count} moulds are watched from now on"


def _cards_made(count: int) -> str:
    return {0: "", 1: "one mould's card"}.get(count, f"{count} moulds' cards")
