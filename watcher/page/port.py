"""What the page needs from whoever runs the bench: a small port with one real and one fake side."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

from models.slip import Slip
from watcher.records.bench import Bench, BenchEvent
from watcher.records.said import Said


@dataclass(frozen=True, slots=True)
class Picture:
    """One JPEG to show.

    Attributes
    ----------
    jpeg : bytes
        The file's bytes; 40 kB or less for a bench picture.
    frame_id : str
        Changes with every new picture; the page asks again only for another one.
    taken_at : datetime
        When the camera took it, aware, UTC.
    width_px, height_px : int
        Size of the JPEG. [px]
    frame_width_px, frame_height_px : int
        Size of the camera's frame, in whose pixels `HoleSighting.rim_rc` is given (the JPEG may be
        a smaller copy of the whole frame). [px]
    """

    jpeg: bytes
    frame_id: str
    taken_at: datetime
    width_px: int
    height_px: int
    frame_width_px: int
    frame_height_px: int


@dataclass(frozen=True, slots=True)
class PastCast:
    """One earlier cast of a mould, as far as it is remembered. A blank (None) is not known."""

    cast_id: str
    began_at: datetime
    tipped_at: datetime | None = None
    minutes: float | None = None
    drop_at_tip_mm: float | None = None
    drop_sigma_mm: float | None = None
    wall_at_tip_mm: float | None = None
    verdict: str = ""  # came_out_right, too_thin, too_thick, or empty


class BenchPort(Protocol):
    """The running bench as the page sees it. Every method is quick and may be called from any thread."""

    @property
    def zone(self) -> str:
        """Name of the bench's time zone, such as `Europe/Berlin`."""
        ...

    def now(self) -> datetime:
        """Return the bench's present moment, aware, UTC (a replay's own time while it replays)."""
        ...

    def bench(self) -> Bench:
        """Return the whole present. A new object whenever anything changed."""
        ...

    def say(self, said: Said) -> None:
        """Put what the caster said into the bench's inbox; return once it is taken in, or after a second."""
        ...

    def picture(self) -> Picture | None:
        """Return the newest picture of the bench without anything drawn into it, or None."""
        ...

    def hole_picture(self, mould: str) -> Picture | None:
        """Return the newest crop of that mould's pour hole with the found line drawn in, or None."""
        ...

    def events(self, mould: str) -> tuple[BenchEvent, ...]:
        """Return this session's events of that mould (all moulds for an empty name), oldest first."""
        ...

    def history(self, mould: str) -> tuple[PastCast, ...]:
        """Return earlier casts of that mould, newest first; empty when none are remembered."""
        ...

    def use_slip(self, slip: Slip) -> None:
        """Let casts that begin from now on go by this slip; those under way keep theirs."""
        ...

    def stopping(self) -> bool:
        """Say whether the service has been told to stop: live streams then end at once."""
        ...
