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
    """Sample places (T * 4 * A, O, 2) across the sides of T tags, and their outward normals (T, 4, 2)."""

    ids: tuple[int, ...]
    pixels: npt.NDArray[np.float32]
    normals: Array


@dataclass(frozen=True, slots=True)
class CheckedTag:
    """How a known tag looks now: moved by `shift_px`, or not `there` (covered, gone, moved too far)."""

    there: bool
    shift_px: Array


def plan_check(corners_px: dict[int, Array]) -> CheckPlan:
    """Lay samples across the sides of tags known by their corners (4, 2)."""
    ids = tuple(sorted(corners_px))
    if not ids:
        return CheckPlan((), np.zeros((0, OFFSETS.size, 2), np.float32), np.zeros((0, 4, 2)))
    corners = np.stack([corners_px[i] for i in ids])
    side = np.roll(corners, -1, axis=1) - corners
    normals = (
        np.stack((side[..., 1], -side[..., 0]), axis=-1) / np.hypot(side[..., 0], side[..., 1])[..., None]
    )
    base = corners[:, :, None, :] + ALONG[None, None, :, None] * side[:, :, None, :]
    points = base[:, :, :, None, :] + OFFSETS[:, None] * normals[:, :, None, None, :]
    return CheckPlan(ids, points.reshape(-1, OFFSETS.size, 2).astype(np.float32), normals)


def check_tags(image: Image, plan: CheckPlan) -> dict[int, CheckedTag]:
    """Look at all known tags at once, by tag id."""
    if not plan.ids:
        return {}
    count = len(plan.ids)
    sampled = cv2.remap(
        image, plan.pixels[..., 0], plan.pixels[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    )
    light = LINEAR[sampled[..., 1]].reshape(count, 4, ALONG.size, OFFSETS.size)
    profile = np.median(light, axis=2).astype(np.float64)
    white = np.median(profile[..., -2:].mean(axis=-1), axis=1)[:, None]
    black = np.minimum(profile[..., 1:3].mean(axis=-1), 0.5 * white)
    black = np.median(black, axis=1)[:, None]
    top = profile[..., -2:].mean(axis=-1)
    contrast = (top - black) / np.maximum(white, 1e-3)
    half = 0.5 * (top + black)[..., None]
    rises = (profile[..., :-1] < half) & (profile[..., 1:] >= half)
    pick = np.argmin(np.where(rises, np.abs(OFFSETS[:-1] + 0.375), np.inf), axis=-1)[..., None]
    v0 = np.take_along_axis(profile, pick, axis=-1)[..., 0]
    v1 = np.take_along_axis(profile, pick + 1, axis=-1)[..., 0]
    offset = OFFSETS[pick[..., 0]] + 0.75 * (half[..., 0] - v0) / np.where(v1 > v0, v1 - v0, 1.0)
    usable = rises.any(axis=-1) & (contrast > LEAST_CONTRAST)
    found: dict[int, CheckedTag] = {}
    for k, tag in enumerate(plan.ids):
        design = np.column_stack((plan.normals[k], np.ones(4)))
        solved = np.linalg.lstsq(design, offset[k], rcond=None)[0]
        misfit = float(np.abs(design @ solved - offset[k]).max())
        there = bool(usable[k].all()) and misfit < WORST_MISFIT_PX and abs(float(solved[2])) < 1.0
        found[tag] = CheckedTag(there, solved[:2])
    return found
