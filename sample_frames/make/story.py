"""What a session contains: moulds, casts, what is done and when, light, lens. Plain data."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from casting import Cast, Cavity, Slip
from optics import Lens, Pose, Sensor


@dataclass(frozen=True, slots=True)
class Place:
    """Where a mould's rim centre stands from a moment on; `state` in, out, flipped or lying."""

    from_s: float
    x: float
    y: float
    yaw_deg: float
    state: str = "in"


@dataclass(frozen=True, slots=True)
class MouldPart:
    """A mould: looks, cavity, card, places and casts. `hole_xy` and `card_xy` from its middle, mm."""

    name: str
    tag_id: int
    tag_mm: float
    cavity: Cavity
    target_mm: float
    half: tuple[float, float]
    height: float
    corner: float
    hole_xy: tuple[float, float]
    card_xy: tuple[float, float]
    card_yaw_deg: float
    places: tuple[Place, ...]
    casts: tuple[Cast, ...]
    letters: str = ""
    strap: tuple[float, float, float] | None = (0.02, 0.02, 0.022)
    seam_deg: float | None = 90.0
    tone: float = 0.84
    rim_round: float = 1.2
    top_round: float = 5.0
    splashes: int = 6
    spill: bool = False
    seed: int = 1

    def place_at(self, time_s: float) -> Place:
        """Return the place at a moment."""
        return [p for p in self.places if p.from_s <= time_s][-1]


@dataclass(frozen=True, slots=True)
class HandPass:
    """A hand over a point of the bench between two moments."""

    from_s: float
    to_s: float
    over: tuple[float, float, float]
    yaw_deg: float
    pitch_deg: float = 12.0


@dataclass(frozen=True, slots=True)
class Light:
    """Window (place, size, radiance), room, lamp (`lamp_on`: intervals) and sun (a patch that walks)."""

    window_at: tuple[float, float, float]
    window_size: tuple[float, float]
    window: tuple[float, float, float]
    room: tuple[float, float, float]
    lamp_at: tuple[float, float, float] | None = None
    lamp: tuple[float, float, float] = (0.0, 0.0, 0.0)
    lamp_on: tuple[tuple[float, float], ...] = ()
    sun: tuple[float, float, float] | None = None
    sun_path: tuple[tuple[float, float, float], ...] = ()  # (time, x, y) of the patch's middle
    sun_size: tuple[float, float] = (120.0, 260.0)
    cloud: float = 0.0  # slow swing of the daylight


@dataclass(frozen=True, slots=True)
class Clay:
    """Look of the slip: colour (linear RGB), gloss of slip and film, meniscus rise in mm."""

    colour: tuple[float, float, float]
    slip_rough: float = 0.12
    film_rough: float = 0.3
    film_shade: float = 0.95
    rise_mm: float = 0.8
    rise_reach_mm: float = 1.8
    streaks: float = 0.02  # unevenness of the film's colour
    drips: int = 0  # runs of slip on the wall above the mark


@dataclass(frozen=True, slots=True)
class Session:
    """A whole recording to be rendered."""

    name: str
    seed: int
    start: str
    about: str
    lens: Lens
    poses: tuple[tuple[float, Pose], ...]
    sensor: Sensor
    sheet: tuple[tuple[int, float, tuple[float, float]], ...]
    sheet_half: tuple[float, float]
    slip: Slip
    clay: Clay
    light: Light
    moulds: tuple[MouldPart, ...]
    times: tuple[float, ...]
    hands: tuple[HandPass, ...] = ()
    bench: str = "ply"
    wall: tuple[float, float, float] = (0.5, 0.52, 0.5)
    wall_y: float = 620.0
    skin: tuple[float, float, float] = (0.55, 0.33, 0.24)
    sleeve: tuple[float, float, float] = (0.05, 0.07, 0.12)
    clutter: tuple[str, ...] = ("bucket", "sponge", "stick")
    events: tuple[tuple[float, str, str], ...] = ()
    blur_px: float = 0.45
    cards: bool = True  # without them a mould's place on the bench is given instead
    up: tuple[float, float, float] = (0.0, 0.0, 1.0)  # against gravity; the bench may slope
    strip: bool = False  # the tags hang in a row on the wall instead of lying on the bench
    streams: tuple[tuple[str, float, tuple[tuple[float, float, float], ...]], ...] = ()  # mould, from, way

    def pose_at(self, time_s: float) -> Pose:
        """Return the camera's pose at a moment."""
        return [p for t, p in self.poses if t <= time_s][-1]

    def stream_at(self, name: str, time_s: float) -> tuple[float, float] | None:
        """Return where a mould's stream falls, in mm from the hole's centre; None where none is laid out."""
        for mould, from_s, way in self.streams:
            if mould == name:
                t, x, y = zip(*way, strict=True)
                return float(np.interp(time_s - from_s, t, x)), float(np.interp(time_s - from_s, t, y))
        return None

    wanted_share: float = 1.0  # the wall asked for, as a share of what the moulds' story was laid out for
