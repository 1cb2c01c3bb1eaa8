"""What the set-up pages need from whoever holds the camera and the files: one small desk for each step."""

from __future__ import annotations

from typing import Protocol

from watcher.page.port import Picture
from watcher.page.setup.port_strip import StripDesk
from watcher.page.setup.shown import (
    CameraShown,
    CardsShown,
    CastShown,
    ChannelShown,
    ElsewhereShown,
    HoleShown,
    LensShown,
    MouldShown,
    SheetShown,
    ShotShown,
    StepShown,
    Told,
    TriedShown,
    WallShown,
)
from watcher.page.setup.typed import CutTyped, DrawingTyped, ElsewhereTyped, MouldTyped, StartTyped


class Unfit(ValueError):
    """What was typed or shown cannot be used: one sentence, and the field at fault where there is one."""

    def __init__(self, say: str, field: str = "") -> None:
        super().__init__(say)
        self.say = say
        self.field = field


class CameraDesk(Protocol):
    """Choosing the camera, and what it shows now."""

    def shown(self) -> CameraShown:
        """Return the camera as it is chosen, and what else is plugged in."""
        ...

    def choose(self, address: str, width_px: int, height_px: int) -> Told:
        """Choose another camera. Raises `Unfit`."""
        ...

    def picture(self) -> Picture | None:
        """Return the newest picture, or None."""
        ...


class CardsDesk(Protocol):
    """Printing, and the print's true size."""

    def shown(self) -> CardsShown:
        """Return which moulds have a card, and whether the print was measured."""
        ...

    def name(self, names: tuple[str, ...]) -> Told:
        """Give each name a card; numbers that were given stay. Raises `Unfit`."""
        ...

    def pdf(self, paper: str) -> bytes:
        """Return all pages as one PDF for `a4` or `letter`."""
        ...

    def measured(self, ruler_mm: float, ruler_up_mm: float) -> Told:
        """Take in the printed lines' true lengths. Raises `Unfit`."""
        ...


class LensDesk(Protocol):
    """Measuring or guessing the lens."""

    def shown(self) -> LensShown:
        """Return what is known of the lens, and which views are there."""
        ...

    def guess(self, view_deg: float | None, *, diagonal: bool) -> Told:
        """Guess it from its field of view; says what that costs. Raises `Unfit`."""
        ...

    def look(self) -> LensShown:
        """Look once for the board and keep the view if it is sharp, still and new. Raises `Unfit`."""
        ...

    def coverage(self) -> Picture:
        """Return the coverage map."""
        ...

    def measure(self) -> Told:
        """Work the lens out from the views. Raises `Unfit`."""
        ...

    def forget(self) -> Told:
        """Put the views away and begin anew."""
        ...


class BenchDesk(Protocol):
    """The sheet on the bench, and how well each hole will be read."""

    def sheet(self) -> SheetShown:
        """Return what was found at the last look."""
        ...

    def look(self) -> SheetShown:
        """Look for the sheet now. Raises `Unfit`."""
        ...

    def sheet_picture(self) -> Picture | None:
        """Return the picture of the last look with all cards drawn in."""
        ...

    def holes(self) -> tuple[HoleShown, ...]:
        """Foretell how well each hole will be read from where the camera stands now. Raises `Unfit`."""
        ...


class MouldsDesk(Protocol):
    """Taking moulds in."""

    def all(self) -> tuple[MouldShown, ...]:
        """Return the moulds that were taken in."""
        ...

    def shot(self) -> ShotShown:
        """Return the picture that a mould is being taken in from."""
        ...

    def take_shot(self) -> ShotShown:
        """Take that picture anew. Raises `Unfit`."""
        ...

    def shot_picture(self) -> Picture | None:
        """Return it, with what was found last drawn in."""
        ...

    def take_in(self, typed: MouldTyped) -> Told:
        """Find the mould's rim; keep its profile where `typed.keep`. Raises `Unfit`."""
        ...

    def remove(self, name: str) -> Told:
        """Take a mould out of the set-up; its casts stay in the memory. Raises `Unfit`."""
        ...


class StartDesk(Protocol):
    """All steps, and the end of setting up."""

    def steps(self) -> tuple[StepShown, ...]:
        """Return every step with what is done and what is missing."""
        ...

    @property
    def home(self) -> str:
        """The folder that everything is written to."""
        ...

    @property
    def watching(self) -> bool:
        """Whether a bench is being watched already."""
        ...

    @property
    def zone(self) -> str:
        """Name of the bench's time zone."""
        ...

    def slip(self) -> tuple[float, float]:
        """Return the slip's specific gravity and its cake's solids, as they stand now."""
        ...

    def start(self, typed: StartTyped) -> Told:
        """Put everything together and watch. Raises `Unfit`."""
        ...


class CallsDesk(Protocol):
    """Trying whether a call reaches somebody."""

    def channels(self) -> tuple[ChannelShown, ...]:
        """Return every channel, its address masked."""
        ...

    def add(self, name: str, address: str) -> Told:
        """Add a channel to the settings. Raises `Unfit`."""
        ...

    def test(self) -> tuple[TriedShown, ...]:
        """Send a test call by each channel and say what became of it."""
        ...


class ProfilesDesk(Protocol):
    """Walls wanted and walls measured, rulers dipped, profiles brought and taken."""

    def walls(self) -> tuple[WallShown, ...]:
        """Return the caster's list of walls. Raises `Unfit`."""
        ...

    def set_wall(self, use: str, thin_mm: float, thick_mm: float) -> Told:
        """Put an entry in, or change it. Raises `Unfit`."""
        ...

    def drop_wall(self, use: str) -> Told:
        """Take an entry out. Raises `Unfit`."""
        ...

    def want(self, mould: str, thin_mm: float | None, thick_mm: float | None) -> Told:
        """Give a mould its wanted wall, or none. Raises `Unfit`."""
        ...

    def casts(self, mould: str) -> tuple[CastShown, ...]:
        """Return a mould's casts that a wall can be held against, newest first. Raises `Unfit`."""
        ...

    def cut(self, typed: CutTyped) -> Told:
        """Hold a measured wall against its cast; sharpen the profile or question the wall. Raises `Unfit`."""
        ...

    def ruler(self, mould: str, level_mm: float) -> Told:
        """Hold a dipped level against the eye's. Raises `Unfit`."""
        ...

    def bring(self, text: str) -> Told:
        """Take in somebody else's profile: a new version, never over history. Raises `Unfit`."""
        ...

    def bring_drawing(self, typed: DrawingTyped, data: bytes) -> Told:
        """Take in a mould's STL: a new version, its card and wanted wall stay. Raises `Unfit`."""
        ...

    def text(self, mould: str) -> str:
        """Return a mould's profile as TOML. Raises `Unfit`."""
        ...

    def elsewhere(self) -> tuple[ElsewhereShown, ...]:
        """Return the moulds of other benches that share the database. Raises `Unfit`."""
        ...

    def bring_from(self, typed: ElsewhereTyped) -> Told:
        """Bring a mould of another bench with its past; asks whose figures count. Raises `Unfit`."""
        ...


class SetupPort(Protocol):
    """Every desk. Methods may wait for a picture or a fit: call them from a thread."""

    @property
    def camera(self) -> CameraDesk:
        """Choosing the camera."""
        ...

    @property
    def cards(self) -> CardsDesk:
        """Printing."""
        ...

    @property
    def lens(self) -> LensDesk:
        """The lens."""
        ...

    @property
    def bench(self) -> BenchDesk:
        """Sheet and sight."""
        ...

    @property
    def strip(self) -> StripDesk:
        """A strip on wall or shelf."""
        ...

    @property
    def moulds(self) -> MouldsDesk:
        """Moulds."""
        ...

    @property
    def start(self) -> StartDesk:
        """Steps and start."""
        ...

    @property
    def calls(self) -> CallsDesk:
        """Test calls."""
        ...

    @property
    def profiles(self) -> ProfilesDesk:
        """Walls and profiles."""
        ...
