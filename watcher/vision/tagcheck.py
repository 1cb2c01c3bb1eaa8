"""The cheap check of every frame: are the known tags where they were, how much did the picture shake."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from watcher.records.frames import Image
from watcher.vision.lighting import LINEAR

Array = npt.NDArray[np.float64]

ALONG = np.linspace(0.15, 0.85, 10)
OFFSETS = np.arange(-3.0, 3.01, 0.75)
LEAST_CONTRAST = 0.25
"""Least (white - black) / white across a side that still is a tag's side."""
WORST_MISFIT_PX = 0.6


@dataclass(frozen=True, slots=True)
class CheckPlan:
    """Sample places (T * 4 * A, O, 2) across the sides of T tags, and their outward normals (T, 4, 2).

    `solver` (T, 3, 4) turns the four sides' offsets into a shift and a common widening.
    """

    ids: tuple[int, ...]
    pixels: npt.NDArray[np.float32]
    normals: Array
    solver: Array


@dataclass(frozen=True, slots=True)
class CheckedTag:
    """How a known tag looks now: moved by `shift_px`, or not `there` (covered, gone, moved too far)."""

    there: bool
    shift_px: Array


def plan_check(corners_px: dict[int, Array]) -> CheckPlan:
    """Lay samples across the sides of tags known by their corners (4, 2)."""
    ids = tuple(sorted(corners_px))
    if not ids:
        return CheckPlan(
            (), np.zeros((0, OFFSETS.size, 2), np.float32), np.zeros((0, 4, 2)), np.zeros((0, 3, 4))
        )
    corners = np.stack([corners_px[i] for i in ids])
    side = np.roll(corners, -1, axis=1) - corners
    normals = (
        np.stack((side[..., 1], -side[..., 0]), axis=-1) / np.hypot(side[..., 0], side[..., 1])[..., None]
    )
    base = corners[:, :, None, :] + ALONG[None, None, :, None] * side[:, :, None, :]
    points = base[:, :, :, None, :] + OFFSETS[:, None] * normals[:, :, None, None, :]
    design = np.concatenate((normals, np.ones((*normals.shape[:2], 1))), axis=2)
    pixels = points.reshape(-1, OFFSETS.size, 2).astype(np.float32)
    return CheckPlan(ids, pixels, normals, np.linalg.pinv(design))


def check_tags(image: Image, plan: CheckPlan) -> dict[int, CheckedTag]:
    """Look at all known tags at once, by tag id."""
    if not plan.ids:
        return {}
    count = len(plan.ids)
    sampled = cv2.remap(image, plan.pixels, None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    light = LINEAR[sampled[..., 1]].reshape(count, 4, ALONG.size, OFFSETS.size)
    profile = light.mean(axis=2).astype(np.float64)
    white = np.sort(profile[..., -2:].mean(axis=-1), axis=1)[:, 1:3].mean(axis=1)[:, None]
    black = np.minimum(profile[..., 1:3].mean(axis=-1), 0.5 * white)
    black = np.sort(black, axis=1)[:, 1:3].mean(axis=1)[:, None]
    top = profile[..., -2:].mean(axis=-1)
    contrast = (top - black) / np.maximum(white, 1e-3)
    half = 0.5 * (top + black)[..., None]
    rises = (profile[..., :-1] < half) & (profile[..., 1:] >= half)
    pick = np.argmin(np.where(rises, np.abs(OFFSETS[:-1] + 0.375), np.inf), axis=-1)[..., None]
    v0 = np.take_along_axis(profile, pick, axis=-1)[..., 0]
    v1 = np.take_along_axis(profile, pick + 1, axis=-1)[..., 0]
    offset = OFFSETS[pick[..., 0]] + 0.75 * (half[..., 0] - v0) / np.where(v1 > v0, v1 - v0, 1.0)
    usable = rises.any(axis=-1) & (contrast > LEAST_CONTRAST)
    solved = np.einsum("tkf,tf->tk", plan.solver, offset)
    fitted = np.einsum("tfx,tx->tf", plan.normals, solved[:, :2]) + solved[:, 2:]
    misfit = np.abs(fitted - offset).max(axis=1)
    there = usable.all(axis=1) & (misfit < WORST_MISFIT_PX) & (np.abs(solved[:, 2]) < 1.0)
    return {tag: CheckedTag(bool(there[k]), solved[k, :2]) for k, tag in enumerate(plan.ids)}
