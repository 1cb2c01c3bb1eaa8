"""The inside of a pour hole as the camera sees it: bare wall, clay on it, the slip's line and surface."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from watcher.simulator.bench import Seat, SimBench, SimMould
from watcher.simulator.truth import Inside
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
        Where a ray passes the rim's plane, and how far it moves sideways per mm of depth.
    """

    top: int
    left: int
    cover: Flat
    at_rim: Flat
    per_mm: Flat


def hole_view(view: View, mould: SimMould, seat: Seat) -> HoleView | None:
    """Work out the rays around a mould's pour hole; None where none of it is in the picture."""
    radius = float(mould.profile.radius_mm(0.0))
    a = np.arange(64) * 2 * np.pi / 64
    rim = np.column_stack([radius * np.cos(a), radius * np.sin(a), np.zeros(64)])
    centre = np.array([seat.x_mm, seat.y_mm, mould.height_mm])
    flat = view.project(rim + centre)
    low = np.maximum(np.floor(flat.min(axis=0)).astype(int) - 2, 0)
    high = np.minimum(np.ceil(flat.max(axis=0)).astype(int) + 3, (view.lens.width_px, view.lens.height_px))
    if (high - low < 3).any():
        return None
    rows, cols = np.mgrid[low[1] : high[1], low[0] : high[0]]
    rays = view.rays(np.column_stack([cols.ravel(), rows.ravel()]))
    if (rays[:, 2] > -1e-3).any():
        return None
    eye = np.array(view.eye_mm) - centre
    share = -rays[:, :2] / rays[:, 2:]
    at_rim = eye[:2] + share * eye[2]
    shape = (*rows.shape, 2)
    out = np.hypot(at_rim[:, 0], at_rim[:, 1]).reshape(rows.shape)
    slope = np.maximum(np.hypot(*np.gradient(out)), 1e-6)
    cover = np.clip((radius - out) / slope + 0.5, 0.0, 1.0)
    return HoleView(
        int(low[1]),
        int(low[0]),
        cover.astype(np.float32),
        at_rim.reshape(shape).astype(np.float32),
        share.reshape(shape).astype(np.float32),
    )


def draw_hole(
    picture: npt.NDArray[np.uint8], hole: HoleView, bench: SimBench, mould: SimMould, inside: Inside
) -> None:
    """Draw the inside over the picture, in place."""
    floor = mould.profile.depth_mm
    level = floor if inside.level_mm is None else inside.level_mm
    standing = inside.level_mm is not None
    depths = _look_depths(min(level + 3.0, floor))
    hit = _wall_depth(hole, depths, _free_radius(mould, inside, depths))
    line = level - RISE_MM if standing else level
    slope = np.maximum(np.hypot(*np.gradient(hit)), 0.02)
    below = np.clip((hit - line) / slope + 0.5, 0.0, 1.0)
    wall = _wall_colours(hole, bench, mould, inside, hit)
    surface = _surface_colours(hole, bench, mould, inside, level)
    seen = wall + (surface - wall) * below[..., None]
    rows, cols = hole.cover.shape
    patch = picture[hole.top : hole.top + rows, hole.left : hole.left + cols]
    mixed = patch + (seen - patch) * hole.cover[..., None]
    patch[:] = np.clip(mixed, 0, 255).astype(np.uint8)


def _look_depths(deepest: float) -> Flat:
    fine = np.arange(0.0, min(deepest, 40.0) + 1.0, 1.0)
    coarse = np.arange(44.0, deepest + 4.0, 4.0) if deepest > 40.0 else np.zeros(0)
    return np.asarray(np.concatenate([fine, coarse]), dtype=np.float32)


def _free_radius(mould: SimMould, inside: Inside, depths: Flat) -> Flat:
    """Radius that the clay leaves open at each depth; bare above the mark."""
    bare = mould.profile.radius_mm(depths.astype(float))
    if inside.mark_mm is None:
        return bare.astype(np.float32)
    clay = np.maximum(np.interp(depths, inside.depths_mm, inside.clay_mm), FILM_MM)
    free = bare - np.where(depths >= inside.mark_mm - RISE_MM, clay, 0.0)
    return np.asarray(free, dtype=np.float32)


def _wall_depth(hole: HoleView, depths: Flat, free: Flat) -> Flat:
    """Depth at which each ray meets the wall: first crossing, straight between the depths looked at."""
    x = hole.at_rim[..., 0, None] + hole.per_mm[..., 0, None] * depths
    y = hole.at_rim[..., 1, None] + hole.per_mm[..., 1, None] * depths
    beyond = np.sqrt(x * x + y * y) - free
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


def _light(hole: HoleView, mould: SimMould, depth: Flat) -> Flat:
    """Light on the wall: from the bright side, fading with depth."""
    at = hole.at_rim + hole.per_mm * depth[..., None]
    length = np.maximum(np.hypot(at[..., 0], at[..., 1]), 1e-3)
    facing = -(at[..., 0] * TOWARDS_LIGHT[0] + at[..., 1] * TOWARDS_LIGHT[1]) / length
    radius = float(mould.profile.radius_mm(0.0))
    return np.asarray((0.70 + 0.16 * facing) * np.exp(-depth / (3.2 * radius)), dtype=np.float32)


def _wall_colours(hole: HoleView, bench: SimBench, mould: SimMould, inside: Inside, hit: Flat) -> Flat:
    light = _light(hole, mould, hit)[..., None]
    bare = np.array(bench.plaster, np.float32) * light
    if inside.mark_mm is None:
        return np.asarray(bare, dtype=np.float32)
    clay = np.array(bench.clay, np.float32) * DAMP * light
    wetted = np.clip((hit - (inside.mark_mm - RISE_MM)) / 0.4 + 0.5, 0.0, 1.0)[..., None]
    return np.asarray(bare + (clay - bare) * wetted, dtype=np.float32)


def _surface_colours(hole: HoleView, bench: SimBench, mould: SimMould, inside: Inside, level: float) -> Flat:
    """Slip where it stands, else the clay or plaster of the floor."""
    at = hole.at_rim + hole.per_mm * np.float32(level)
    radius = float(mould.profile.radius_mm(0.0))
    light = np.exp(-level / (3.5 * radius))
    if inside.level_mm is None:
        colour = np.array(bench.plaster if inside.mark_mm is None else bench.clay, np.float32)
        return np.asarray(np.broadcast_to(colour * 0.8 * light, (*hole.cover.shape, 3)), dtype=np.float32)
    free = float(_free_radius(mould, inside, np.array([level], np.float32))[0])
    gap = free - np.hypot(at[..., 0], at[..., 1])
    edge = 1.0 - 0.06 * np.exp(-np.maximum(gap, 0.0) / 1.2)
    sheen = GLOSS + 0.02 * (at[..., 1] / radius)
    colours = np.array(bench.clay, np.float32) * (light * edge * sheen)[..., None]
    return np.asarray(colours, dtype=np.float32)
