"""Every desk of the set-up pages, put together: before the first start, or beside a bench that is watched."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from models.slip import Slip, checked_slip
from watcher.clock import Clock
from watcher.records.bench import PHASE
from watcher.service.setting_up_calls import SetupCalls
from watcher.service.setting_up_camera import SetupCamera
from watcher.service.setting_up_lens import SetupLens
from watcher.service.setting_up_moulds import SetupMoulds
from watcher.service.setting_up_print import SetupCards
from watcher.service.setting_up_profiles import SetupProfiles
from watcher.service.setting_up_sheet import SetupSheet
from watcher.service.setting_up_start import USUAL_SLIP, SetupStart
from watcher.service.setting_up_strip import SetupStrip
from watcher.service.setting_up_watched import Watched, WatchedProfiles
from watcher.setup.folder import SetupFolder


@dataclass(frozen=True, slots=True)
class SetupDesks:
    """All desks; implements the page's port for setting up."""

    camera: SetupCamera
    cards: SetupCards
    lens: SetupLens
    bench: SetupSheet
    strip: SetupStrip
    moulds: SetupMoulds
    start: SetupStart
    calls: SetupCalls
    profiles: SetupProfiles


def first_desks(
    settings_path: Path, clock: Clock, begin: Callable[[], None], *, port: int, roots: Sequence[Path]
) -> SetupDesks:
    """Return the desks of a folder in which no bench is watched yet.

    Parameters
    ----------
    settings_path : Path
        Where the settings will be written to; its folder holds everything.
    clock : Clock
    begin : callable
        Told once a bench can be watched.
    port : int
        Of the page.
    roots : sequence of Path
        Folders below which a camera's pictures may be dropped.
    """
    folder = SetupFolder(settings_path.resolve().parent)
    camera = SetupCamera(folder, clock, roots)
    return _desks(folder, settings_path, clock, camera, None, port, begin)


def desks_beside(watched: Watched, clock: Clock, address: str) -> SetupDesks:
    """Return the desks beside a bench that is watched.

    Parameters
    ----------
    watched : Watched
    clock : Clock
    address : str
        The camera's address as the settings have it.
    """
    folder = SetupFolder(watched.settings_path.resolve().parent)
    lens = watched.running.bench().layout.lens
    size = (lens.width_px, lens.height_px) if lens is not None else (1280, 720)
    roots = watched.settings.camera.folders
    camera = SetupCamera(folder, clock, roots, (watched.source, address, size))
    WatchedProfiles(folder, watched).follow()
    port = watched.settings.page.port
    return _desks(folder, watched.settings_path, clock, camera, watched, port, lambda: None)


def _desks(
    folder: SetupFolder,
    settings_path: Path,
    clock: Clock,
    camera: SetupCamera,
    watched: Watched | None,
    port: int,
    begin: Callable[[], None],
) -> SetupDesks:
    cards = SetupCards(folder)
    lens = SetupLens(folder, camera)
    sheet = SetupSheet(folder, camera, lens, lambda: _slip(watched), lambda name: _empty(watched, name))
    strip = SetupStrip(folder, camera, lens, lambda: cards.shown().scale)
    calls = SetupCalls(folder, clock, watched)

    def names() -> frozenset[str]:
        return frozenset() if watched is None else frozenset(watched.running.bench().moulds)

    moulds = SetupMoulds(folder, sheet, cards, names)
    parts = (camera, cards, lens, sheet, calls)
    start = SetupStart(folder, settings_path, parts, watched, port=port, begin=begin)
    return SetupDesks(camera, cards, lens, sheet, strip, moulds, start, calls, SetupProfiles(folder, watched))


def _empty(watched: Watched | None, name: str) -> bool:
    """Whether nothing stands in a mould: before the first start, so it is asked for."""
    state = None if watched is None else watched.running.bench().moulds.get(name)
    return state is None or PHASE[state.stage] == "empty"


def _slip(watched: Watched | None) -> Slip:
    if watched is not None:
        return watched.running.bench().slip
    gravity, cake = USUAL_SLIP
    return checked_slip(specific_gravity=gravity, cake_solids_fraction=cake)
