"""The inside of a pour hole as the camera sees it: bare wall, clay on it, the slip's line and surface."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from watcher.simulator.bench import Seat, SimBench, SimMould, on_bench
from watcher.simulator.coverings import FINE_PER_MM, Froth, bubbles
from watcher.simulator.truth import Inside, hole_halves
from watcher.simulator.viewing import View

Array = npt.NDArray[np.float64]
Flat = npt.NDArray[np.float32]

RISE_MM = 0.5
"""The slip's edge stands so much above its middle (the meniscus). [mm]"""
FILM_MM = 0.12
"""Least clay left on a wall that was wetted. [mm]"""
TOWARDS_LIGHT = (-0.77, 0.63)
DAMP, GLOSS = 0.90, 1.03


@dataclass(frozen=True, slots=True)
class HoleView:
    """Rays of all pixels around one pour hole, in the mould's axes, worked out once per placement.

    Attributes
    ----------
    top, left : int
        First row and column of the patch.
    cover : ndarray, shape (rows, cols)
        Share of each pixel that lies inside the rim.
    at_rim, per_mm : ndarray, shape (rows, cols, 2)
        Where a ray passes the rim's plane from the hole's centre, and how far it moves sideways per mm of
        depth; x along the hole's long axis.
    index : int
        Which of the mould's pour holes it is.
    yaw_deg : float
        How far the mould's axes are turned about the vertical.
    """

    top: int
    left: int
    cover: Flat
    at_rim: Flat
    per_mm: Flat
    index: int = 0
    yaw_deg: float = 0.0


def hole_view(view: View, mould: SimMould, seat: Seat, index: int = 0) -> HoleView | None:
    """Work out the rays around one pour hole of a mould; None where none of it is in the picture."""
    long_mm, short_mm = (float(v[0]) for v in hole_halves(mould.profile, index, np.zeros(1)))
    a = np.arange(64) * 2 * np.pi / 64
    middle = np.array([*mould.profile.holes[index].centre_mm, 0.0])
    rim = np.column_stack([long_mm * np.cos(a), short_mm * np.sin(a), np.zeros(64)]) + middle
    flat = view.project(on_bench(mould, seat, rim))
    centre = on_bench(mould, seat, middle[None])[0]
    low = np.maximum(np.floor(flat.min(axis=0)).astype(int) - 2, 0)
    high = np.minimum(np.ceil(flat.max(axis=0)).astype(int) + 3, (view.lens.width_px, view.lens.height_px))
    if (high - low < 3).any():
        return None
    rows, cols = np.mgrid[low[1] : high[1], low[0] : high[0]]
    rays = view.rays(np.column_stack([cols.ravel(), rows.ravel()]))
    if (rays[:, 2] > -1e-3).any():
        return None
    eye = np.array(view.eye_mm) - centre
    c, si = np.cos(np.radians(seat.yaw_deg)), np.sin(np.radians(seat.yaw_deg))
    own = np.array([[c, -si], [si, c]])
    share = (-rays[:, :2] / rays[:, 2:]) @ own
    at_rim = eye[:2] @ own + share * eye[2]
    shape = (*rows.shape, 2)
    out = long_mm * np.hypot(at_rim[:, 0] / long_mm, at_rim[:, 1] / short_mm).reshape(rows.shape)
    slope = np.maximum(np.hypot(*np.gradient(out)), 1e-6)
    cover = np.clip((long_mm - out) / slope + 0.5, 0.0, 1.0)
    return HoleView(
        int(low[1]),
        int(low[0]),
        cover.astype(np.float32),
        at_rim.reshape(shape).astype(np.float32),
        share.reshape(shape).astype(np.float32),
        index,
        seat.yaw_deg,
    )


def draw_hole(
    picture: npt.NDArray[np.uint8],
    hole: HoleView,
    bench: SimBench,
    mould: SimMould,
    inside: Inside,
    froth: Froth | None = None,
) -> None:
    """Draw the inside over the picture, in place; froth stands on the slip and hides its edge."""
    floor = mould.profile.depth_mm
    standing = inside.level_mm is not None
    level = floor if inside.level_mm is None else inside.level_mm
    if froth is not None and standing:
        level = max(level - froth.thick_mm, 0.5)
    depths = _look_depths(min(level + 3.0, floor))
    free = free_halves(mould, hole.index, inside, depths)
    if any(bench.falls):
        free = _tilted_halves(hole, bench, mould, inside, depths)
    hit = _wall_depth(hole, depths, free)
    line = level - RISE_MM if standing else level
    deep = hit - _fall(hole, bench, hit)
    slope = np.maximum(np.hypot(*np.gradient(deep)), 0.02)
    below = np.clip((deep - line) / slope + 0.5, 0.0, 1.0)
    wall = _wall_colours(hole, bench, mould, inside, hit, deep)
    surface = _surface_colours(hole, bench, mould, inside, level)
    if froth is not None and standing:
        surface = surface * _frothed(hole, froth, _radius(mould, hole.index), level)[..., None]
    seen = wall + (surface - wall) * below[..., None]
    rows, cols = hole.cover.shape
    patch = picture[hole.top : hole.top + rows, hole.left : hole.left + cols]
    mixed = patch + (seen - patch) * hole.cover[..., None]
    patch[:] = np.clip(mixed, 0, 255).astype(np.uint8)


def _look_depths(deepest: float) -> Flat:
    fine = np.arange(0.0, min(deepest, 40.0) + 1.0, 1.0)
    coarse = np.arange(44.0, deepest + 4.0, 4.0) if deepest > 40.0 else np.zeros(0)
    return np.asarray(np.concatenate([fine, coarse]), dtype=np.float32)


def free_halves(mould: SimMould, index: int, inside: Inside, depths: Flat) -> tuple[Flat, Flat]:
    """Half axes that the clay leaves open at each depth; bare above the mark."""
    bare = hole_halves(mould.profile, index, depths.astype(float))
    if inside.mark_mm is None:
        return bare[0].astype(np.float32), bare[1].astype(np.float32)
    clay = np.maximum(np.interp(depths, inside.depths_mm, inside.clay_mm), FILM_MM)
    clay = np.where(depths >= inside.mark_mm - RISE_MM, clay, 0.0)
    free = [np.maximum(half - clay, 0.5).astype(np.float32) for half in bare]
    return free[0], free[1]


def _wall_depth(hole: HoleView, depths: Flat, free: tuple[Flat, Flat]) -> Flat:
    """Depth at which each ray meets the wall: first crossing, straight between the depths looked at."""
    x = (hole.at_rim[..., 0, None] + hole.per_mm[..., 0, None] * depths) / free[0]
    y = (hole.at_rim[..., 1, None] + hole.per_mm[..., 1, None] * depths) / free[1]
    beyond = np.sqrt(x * x + y * y) - np.float32(1.0)
    out = beyond >= 0
    out[..., 0] = False
    first = np.argmax(out, axis=-1)
    none = first == 0
    after = np.take_along_axis(beyond, first[..., None], -1)[..., 0]
    before = np.take_along_axis(beyond, np.maximum(first - 1, 0)[..., None], -1)[..., 0]
    share = np.clip(-before / np.where(none, 1.0, np.maximum(after - before, 1e-6)), 0.0, 1.0)
    last = depths[np.maximum(first - 1, 0)]
    hit = last + share * (depths[first] - last)
    return np.asarray(np.where(none, depths[-1] + 2.0, hit), dtype=np.float32)


def _radius(mould: SimMould, index: int) -> float:
    """Mean radius of a pour hole at its rim, in mm."""
    long_mm, short_mm = hole_halves(mould.profile, index, np.zeros(1))
    return float(long_mm[0] + short_mm[0]) / 2.0


def _light(hole: HoleView, radius: float, depth: Flat) -> Flat:
    """Light on the wall: from the bright side, fading with depth."""
    at = hole.at_rim + hole.per_mm * depth[..., None]
    length = np.maximum(np.hypot(at[..., 0], at[..., 1]), 1e-3)
    facing = -(at[..., 0] * TOWARDS_LIGHT[0] + at[..., 1] * TOWARDS_LIGHT[1]) / length
    return np.asarray((0.70 + 0.16 * facing) * np.exp(-depth / (3.2 * radius)), dtype=np.float32)


def _fall(hole: HoleView, bench: SimBench, depth: Flat) -> Flat:
    """How much deeper a level surface stands where rays are at these depths than on the hole's axis, in mm.

    `depth` is one for each pixel (rows, cols), or a list (n,) for all of them, which gives (rows, cols, n).
    """
    c, s = np.cos(np.radians(hole.yaw_deg)), np.sin(np.radians(hole.yaw_deg))
    own = (np.array(bench.falls) @ np.array([[c, -s], [s, c]])).astype(np.float32)
    start, per_mm = hole.at_rim @ own, hole.per_mm @ own
    if depth.ndim == 1:
        start, per_mm = start[..., None], per_mm[..., None]
    return np.asarray(start + per_mm * depth, dtype=np.float32)


def _tilted_halves(
    hole: HoleView, bench: SimBench, mould: SimMould, inside: Inside, depths: Flat
) -> tuple[Flat, Flat]:
    """Half axes (rows, cols, n) that clay leaves open, where it was laid on along a surface that tilts."""
    bare = hole_halves(mould.profile, hole.index, depths.astype(float))
    if inside.mark_mm is None:
        return bare[0].astype(np.float32), bare[1].astype(np.float32)
    deep = depths - _fall(hole, bench, depths)
    clay = np.maximum(np.interp(deep, inside.depths_mm, inside.clay_mm), FILM_MM)
    clay = np.where(deep >= inside.mark_mm - RISE_MM, clay, 0.0)
    free = [np.maximum(half - clay, 0.5).astype(np.float32) for half in bare]
    return free[0], free[1]


def _wall_colours(
    hole: HoleView, bench: SimBench, mould: SimMould, inside: Inside, hit: Flat, deep: Flat
) -> Flat:
    """Colour the wall that each ray meets at depth `hit`, `deep` below the level plane through the rim."""
    light = _light(hole, _radius(mould, hole.index), hit)[..., None]
    bare = np.array(bench.plaster, np.float32) * light
    if inside.mark_mm is None:
        return np.asarray(bare, dtype=np.float32)
    clay = np.array(bench.clay, np.float32) * DAMP * light
    wetted = np.clip((deep - (inside.mark_mm - RISE_MM)) / 0.4 + 0.5, 0.0, 1.0)[..., None]
    return np.asarray(bare + (clay - bare) * wetted, dtype=np.float32)


def _frothed(hole: HoleView, froth: Froth, radius: float, level: float) -> Flat:
    """Take the froth's factor where each ray meets the surface."""
    surface = bubbles(froth, 3.0 * radius)
    at = (hole.at_rim + hole.per_mm * np.float32(level)) * FINE_PER_MM + 0.5 * surface.shape[0]
    smooth = cv2.GaussianBlur(surface, (0, 0), 0.35 * FINE_PER_MM)
    taken = cv2.remap(smooth, at[..., 0], at[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT)
    return np.asarray(taken, dtype=np.float32)


def _surface_colours(hole: HoleView, bench: SimBench, mould: SimMould, inside: Inside, level: float) -> Flat:
    """Slip where it stands, else the clay or plaster of the floor."""
    at = hole.at_rim + hole.per_mm * np.float32(level)
    radius = _radius(mould, hole.index)
    light = np.exp(-level / (3.5 * radius))
    if inside.level_mm is None:
        colour = np.array(bench.plaster if inside.mark_mm is None else bench.clay, np.float32)
        return np.asarray(np.broadcast_to(colour * 0.8 * light, (*hole.cover.shape, 3)), dtype=np.float32)
    halves = free_halves(mould, hole.index, inside, np.array([level], np.float32))
    long_mm, short_mm = float(halves[0][0]), float(halves[1][0])
    gap = short_mm * (1.0 - np.hypot(at[..., 0] / long_mm, at[..., 1] / short_mm))
    edge = 1.0 - 0.06 * np.exp(-np.maximum(gap, 0.0) / 1.2)
    dished = bench.dish * np.maximum(1.0 - np.hypot(at[..., 0] / long_mm, at[..., 1] / short_mm) ** 2, 0.0)
    sheen = GLOSS - dished + 0.02 * (at[..., 1] / radius)
    colours = np.array(bench.clay, np.float32) * (light * edge * sheen)[..., None]
    return np.asarray(colours, dtype=np.float32)
