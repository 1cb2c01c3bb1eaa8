"""What can lie over, stand on or shine into a simulated pour hole, and when: a cover, froth, a sun patch."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from watcher.simulator.bench import Colour, Seat, SimMould, on_bench
from watcher.simulator.truth import hole_halves
from watcher.simulator.viewing import View

Array = npt.NDArray[np.float64]
Picture = npt.NDArray[np.uint8]

THREAD_MM = 5.0
FINE_PER_MM = 5
BURNT = 255.0


@dataclass(frozen=True, slots=True)
class Cover:
    """A board or a cloth that lies over a mould's pour holes (or over one of them).

    Attributes
    ----------
    from_s, to_s : float
    mould : str
    hole : int or None
        None: over all of them.
    colour : Colour
    cloth : float
        How much its weave stands out, grey levels; 0: an even board.
    beyond_mm : float
        How far it reaches past the rim. [mm]
    """

    from_s: float
    to_s: float
    mould: str
    hole: int | None = None
    colour: Colour = (120.0, 160.0, 190.0)
    cloth: float = 0.0
    beyond_mm: float = 6.5


@dataclass(frozen=True, slots=True)
class Froth:
    """Bubbles on the slip of a mould, `thick_mm` high: their edge hides the slip's."""

    from_s: float
    to_s: float
    mould: str
    thick_mm: float = 1.5
    contrast: float = 0.22
    bubble_mm: tuple[float, float] = (1.5, 4.5)
    seed: int = 1


@dataclass(frozen=True, slots=True)
class SunPatch:
    """Sun that burns out one pour hole and a little around it."""

    from_s: float
    to_s: float
    mould: str
    hole: int = 0


@dataclass(frozen=True, slots=True)
class Shade:
    """The edge of a shadow that lies across a mould's top and into its holes, and wanders.

    Attributes
    ----------
    from_s, to_s : float
    mould : str
    gain : float
        Light left in the shadow, as a share.
    towards_deg : float
        Direction in the bench frame in which the shadow lies.
    from_mm, mm_per_s : float
        Where its edge stands from the first hole's centre along that direction at `from_s`, and how it moves.
    soft_mm : float
        Width over which it fades. [mm]
    """

    from_s: float
    to_s: float
    mould: str
    gain: float = 0.72
    towards_deg: float = 90.0
    from_mm: float = -10.0
    mm_per_s: float = 0.03
    soft_mm: float = 2.0


@dataclass(frozen=True, slots=True)
class Skin:
    """A skin that pins the slip's edge to the wall where it stood at `from_s`, while the slip sinks."""

    from_s: float
    to_s: float
    mould: str


@dataclass(frozen=True, slots=True)
class Splash:
    """Slip that was spilt: spots on the top around a mould's pour holes, and drips down their far walls."""

    from_s: float
    to_s: float
    mould: str
    spots: int = 5
    drips: int = 2
    spot_mm: tuple[float, float] = (2.0, 5.0)
    drip_mm: tuple[float, float] = (1.5, 9.0)
    seed: int = 3


def draw_spots(
    picture: Picture, view: View, mould: SimMould, seat: Seat, splash: Splash, clay: Colour
) -> None:
    """Draw a splash's spots on the mould's top, in place, before what is inside the holes is drawn."""
    rng = np.random.default_rng(splash.seed)
    for k in range(len(mould.profile.holes)):
        half = float(hole_halves(mould.profile, k, np.zeros(1))[0][0])
        for _ in range(splash.spots):
            a, radius = rng.uniform(0, 2 * np.pi), rng.uniform(*splash.spot_mm)
            middle = _middle(mould, k) + (half + rng.uniform(-2, 6)) * np.array([np.cos(a), np.sin(a), 0.0])
            _fill(picture, view, mould, seat, middle + radius * _round(24), clay)


def draw_drips(
    picture: Picture, view: View, mould: SimMould, seat: Seat, splash: Splash, clay: Colour, deepest_mm: float
) -> None:
    """Draw a splash's drips down the far wall of each hole, in place, not below `deepest_mm`."""
    rng = np.random.default_rng(splash.seed + 1)
    width, length = splash.drip_mm
    for k in range(len(mould.profile.holes)):
        rim = on_bench(mould, seat, _middle(mould, k)[None])[0]
        away = np.arctan2(rim[1] - view.eye_mm[1], rim[0] - view.eye_mm[0]) - np.radians(seat.yaw_deg)
        for _ in range(splash.drips):
            at = away + np.radians(rng.uniform(-45, 45))
            depths = np.linspace(0.3, min(length * rng.uniform(0.6, 1.0), deepest_mm), 8)
            half = hole_halves(mould.profile, k, depths)[0] - 0.3
            side = width * rng.uniform(0.6, 1.2) / half / 2.0
            edges = [
                np.column_stack([half * np.cos(at + w), half * np.sin(at + w), -depths])
                for w in (-side, side)
            ]
            outline = np.concatenate([edges[0], edges[1][::-1]]) + _middle(mould, k)
            _fill(picture, view, mould, seat, outline, clay)


def _round(points: int) -> Array:
    a = np.arange(points) * 2.0 * np.pi / points
    return np.column_stack([np.cos(a), np.sin(a), np.zeros(points)])


def _fill(picture: Picture, view: View, mould: SimMould, seat: Seat, outline: Array, colour: Colour) -> None:
    flat = view.project(on_bench(mould, seat, outline))
    cv2.fillPoly(picture, [np.round(flat * 16).astype(np.int32)], colour, cv2.LINE_AA, 4)


def draw_cover(picture: Picture, view: View, mould: SimMould, seat: Seat, cover: Cover) -> None:
    """Draw a cover over the picture, in place."""
    for k in _holes(mould, cover.hole):
        corners = _square(mould, k, cover.beyond_mm, 0.6)
        flat = view.project(on_bench(mould, seat, corners))
        mask = np.zeros(picture.shape[:2], np.uint8)
        cv2.fillConvexPoly(mask, np.round(flat * 16).astype(np.int32), 255, cv2.LINE_AA, 4)
        rows, cols = np.nonzero(mask)
        at = _on_top(view, mould, seat, np.column_stack([cols, rows]))
        weave = np.sin(2 * np.pi * at[:, 0] / THREAD_MM) * np.sin(2 * np.pi * at[:, 1] / THREAD_MM)
        colours = np.array(cover.colour) + cover.cloth * weave[:, None]
        share = mask[rows, cols, None] / 255.0
        mixed = picture[rows, cols] * (1.0 - share) + colours * share
        picture[rows, cols] = np.clip(mixed, 0, 255).astype(np.uint8)


def draw_sun_patch(picture: Picture, view: View, mould: SimMould, seat: Seat, patch: SunPatch) -> None:
    """Burn a hole out, in place."""
    half = hole_halves(mould.profile, patch.hole, np.zeros(1))
    a = np.arange(48) * 2.0 * np.pi / 48
    ring = np.column_stack([np.cos(a), np.sin(a), np.zeros(48)]) * (float(half[0][0]) + 4.0)
    flat = view.project(on_bench(mould, seat, ring + _middle(mould, patch.hole)))
    cv2.fillConvexPoly(picture, np.round(flat * 16).astype(np.int32), (BURNT,) * 3, cv2.LINE_AA, 4)


def draw_shade(
    picture: Picture, view: View, mould: SimMould, seat: Seat, shade: Shade, time_s: float
) -> None:
    """Darken what of a mould's top lies in the shadow, in place; inside the holes it falls straight on."""
    corners = np.array([[-1, -1, 0], [1, -1, 0], [1, 1, 0], [-1, 1, 0]]) * (mould.half_mm + 4.0)
    flat = view.project(on_bench(mould, seat, corners))
    size = (view.lens.width_px, view.lens.height_px)
    low = np.clip(np.floor(flat.min(axis=0)).astype(int), 0, size)
    high = np.clip(np.ceil(flat.max(axis=0)).astype(int), 0, size)
    rows, cols = np.mgrid[low[1] : high[1], low[0] : high[0]]
    if rows.size == 0:
        return
    at = _on_top(view, mould, seat, np.column_stack([cols.ravel(), rows.ravel()]))
    a = np.radians(shade.towards_deg)
    centre = on_bench(mould, seat, _middle(mould, 0)[None])[0, :2]
    along = (at - centre) @ np.array([np.cos(a), np.sin(a)])
    edge = shade.from_mm + shade.mm_per_s * (time_s - shade.from_s)
    dark = np.clip((along - edge) / shade.soft_mm + 0.5, 0.0, 1.0).reshape(rows.shape)
    patch = picture[low[1] : high[1], low[0] : high[0]]
    patch[:] = (patch * (1.0 - (1.0 - shade.gain) * dark)[..., None]).astype(np.uint8)


def bubbles(froth: Froth, across_mm: float) -> npt.NDArray[np.float32]:
    """Brightness of a froth's surface as a factor, on a square of `across_mm`, FINE_PER_MM points a mm."""
    rng = np.random.default_rng(froth.seed)
    size = int(across_mm * FINE_PER_MM)
    surface = np.ones((size, size), np.float32)
    count = int(2.2 * across_mm**2 / np.mean(froth.bubble_mm) ** 2)
    for x, y, diameter in zip(
        *rng.uniform(0, size, (2, count)), rng.uniform(*froth.bubble_mm, count), strict=True
    ):
        radius = max(round(diameter / 2 * FINE_PER_MM), 2)
        at = (round(x), round(y))
        cv2.circle(surface, at, radius, 1.0 - 0.5 * froth.contrast, -1, cv2.LINE_AA)
        cv2.circle(surface, at, radius, 1.0 + froth.contrast, max(radius // 3, 1), cv2.LINE_AA)
        gleam = (at[0] - radius // 3, at[1] - radius // 3)
        cv2.circle(surface, gleam, max(radius // 4, 1), 1.0 + 1.5 * froth.contrast, -1, cv2.LINE_AA)
    return surface


def _holes(mould: SimMould, hole: int | None) -> list[int]:
    return list(range(len(mould.profile.holes))) if hole is None else [hole]


def _middle(mould: SimMould, k: int) -> Array:
    return np.array([*mould.profile.holes[k].centre_mm, 0.0])


def _square(mould: SimMould, k: int, beyond_mm: float, lift_mm: float) -> Array:
    half = float(hole_halves(mould.profile, k, np.zeros(1))[0][0]) + beyond_mm
    corners = np.array([[-1, -1, 0], [1, -1, 0], [1, 1, 0], [-1, 1, 0]]) * half
    return np.asarray(corners + _middle(mould, k) + (0.0, 0.0, lift_mm), dtype=np.float64)


def _on_top(view: View, mould: SimMould, seat: Seat, pixels: npt.NDArray[np.integer]) -> Array:
    """Where the rays of pixels (n, 2) meet the mould's top, (n, 2) in the bench frame, mm."""
    rays = view.rays(pixels.astype(np.float64))
    eye = np.array(view.eye_mm)
    far = (mould.height_mm - eye[2]) / rays[:, 2]
    return np.asarray(eye[:2] + far[:, None] * rays[:, :2], dtype=np.float64)
