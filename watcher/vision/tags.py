"""Printed square tags: where they are in a picture, their sides measured in linear light."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

import cv2
import numpy as np
import numpy.typing as npt

from watcher.records.frames import Image
from watcher.records.layout import Lens
from watcher.vision.lens import to_pixels, to_rays
from watcher.vision.lighting import LINEAR_BYTE, linear_grey
from watcher.vision.middle import middle_of_last

Array = npt.NDArray[np.float64]
Patch = npt.NDArray[np.float32]

ALONG = np.linspace(0.12, 0.88, 24)
"""Places along a side at which its edge is measured; blur rounds the corners themselves."""
REACH_PX = 3.0
NEAR_SIDES = 2.0
NEAR_LEAST_PX = 50.0
CELL_PX = 6
ALIKE_GREYS = 6.0
"""A tag is black beside white over several cells of so many pixels; noise and slow light change a cell's mean
by less than this. [px, grey levels]"""
STEP_PX = 0.5
WORST_RESIDUAL_PX = 0.45
LEAST_CONTRAST = 0.04


@dataclass(frozen=True, slots=True)
class SeenTag:
    """One tag in one picture.

    Attributes
    ----------
    corners_px : ndarray, shape (4, 2)
        (x, y) of the black square's corners, as printed: top left, top right, bottom right, bottom left. [px]
    corners : ndarray, shape (4, 2)
        The same on the straightened plane one unit before the camera.
    residual_px : float
        Scatter of the sides' points about their lines. [px]
    """

    corners_px: Array
    corners: Array
    residual_px: float


def find_tags(
    image: Image, dictionary: str, wanted: frozenset[int], passes: tuple[bool, bool] = (True, True)
) -> dict[int, Array]:
    """Search the whole picture; return corners (4, 2) in pixels by id.

    The plain grey picture is searched first; what is still wanted is looked for in linear light, then in the
    picture enlarged twice (small, blurred tags), as far as `passes` allows these two.
    """
    grey = cv2.cvtColor(image, cv2.COLOR_BGR2GRAY)
    found = _detect(grey, dictionary, 1.0)
    if passes[0] and not wanted <= found.keys():
        found = _detect(cv2.LUT(grey, LINEAR_BYTE), dictionary, 1.0) | found
    if passes[1] and not wanted <= found.keys() and grey.shape[1] <= 1000:
        twice = cv2.resize(grey, None, fx=2.0, fy=2.0, interpolation=cv2.INTER_CUBIC)
        found = _detect(twice, dictionary, 2.0) | found
    return {tag: corners for tag, corners in found.items() if tag in wanted}


def find_near(
    image: Image, dictionary: str, near_px: dict[int, Array], tried: Mapping[int, Patch]
) -> tuple[dict[int, Array], dict[int, Patch]]:
    """Search only around where tags were last seen: a mould put back stands near its old place.

    Where the picture is as it was at the last search in vain, nothing was put back.

    Parameters
    ----------
    near_px : dict of int to ndarray (4, 2)
        Corners by id, as last seen. [px]
    tried : mapping of int to ndarray
        What the last search in vain left for this one.

    Returns
    -------
    found : dict of int to ndarray (4, 2)
        Corners by id. [px]
    tried : dict of int to ndarray
        For the next search.
    """
    rows, cols = image.shape[:2]
    found: dict[int, Array] = {}
    in_vain: dict[int, Patch] = {}
    for tag, corners in near_px.items():
        reach = max(NEAR_SIDES * float(np.ptp(corners[:, 0])), NEAR_LEAST_PX)
        low = np.maximum(corners.min(axis=0) - reach, 0.0).astype(int)
        high = np.minimum(corners.max(axis=0) + reach, [cols, rows]).astype(int)
        if (high - low).min() < 20:
            continue
        part = cv2.cvtColor(image[low[1] : high[1], low[0] : high[0]], cv2.COLOR_BGR2GRAY)
        cells = (max(part.shape[1] // CELL_PX, 1), max(part.shape[0] // CELL_PX, 1))
        small = cv2.resize(part, cells, interpolation=cv2.INTER_AREA).astype(np.float32)
        before = tried.get(tag)
        if before is not None and before.shape == small.shape and _alike(small, before):
            in_vain[tag] = before
            continue
        there = _detect(part, dictionary, 1.0)
        if tag not in there:
            there = _detect(cv2.LUT(part, LINEAR_BYTE), dictionary, 1.0)
        if tag in there:
            found[tag] = there[tag] + low
        else:
            in_vain[tag] = small
    return found, in_vain


def _alike(now: Patch, before: Patch) -> bool:
    """Tell whether two coarse pictures differ by no more than light that drifts and noise."""
    light = float(now.mean()) / max(float(before.mean()), 1.0)
    return bool(np.abs(now - light * before).max() < ALIKE_GREYS)


@cache
def _detector(dictionary: str) -> cv2.aruco.ArucoDetector:
    settings = cv2.aruco.DetectorParameters()
    settings.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_NONE
    book = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, dictionary))
    return cv2.aruco.ArucoDetector(book, settings)


def _detect(grey: npt.NDArray[np.uint8], dictionary: str, scale: float) -> dict[int, Array]:
    corners, ids, _ = _detector(dictionary).detectMarkers(grey)
    if ids is None:
        return {}
    found: dict[int, Array] = {}
    for tag, four in zip(np.asarray(ids).ravel(), corners, strict=True):
        found[int(tag)] = (np.asarray(four, dtype=np.float64).reshape(4, 2) + 0.5) / scale - 0.5
    return found


def measure_tag(image: Image, guess_px: Array, lens: Lens, rounds: int = 1) -> SeenTag | None:
    """Measure the sides of a tag near `guess_px` (4, 2); None where no such square is there.

    Every side is sampled across itself in linear light (blur is symmetric there, so the half-way crossing is
    the edge; in the camera's gamma it moves into the black), straightened through the lens and fitted by a
    line; the corners are where the lines meet.
    """
    corners_px = guess_px
    seen: SeenTag | None = None
    for _ in range(rounds):
        seen = _measure_once(image, corners_px, lens)
        if seen is None:
            return None
        corners_px = seen.corners_px
    return seen


def _measure_once(image: Image, guess: Array, lens: Lens) -> SeenTag | None:
    rows, cols = image.shape[:2]
    low = np.floor(guess.min(axis=0) - REACH_PX - 2.0).astype(int)
    high = np.ceil(guess.max(axis=0) + REACH_PX + 3.0).astype(int)
    if low.min() < 0 or high[0] > cols or high[1] > rows:
        return None
    patch = linear_grey(image[low[1] : high[1], low[0] : high[0]])
    profiles, base, outward, offsets = _profiles(patch, guess - low)
    crossing = _half_way(profiles, offsets)
    good = np.isfinite(crossing)
    if good.reshape(4, -1).sum(axis=1).min() < ALONG.size // 2:
        return None
    points = base + low + np.nan_to_num(crossing)[..., None] * outward[:, None, :]
    rays = to_rays(points.reshape(-1, 2), lens).reshape(points.shape)
    lines, residual = _lines(rays, good, 1.0 / lens.fx_px)
    if residual * lens.fx_px > WORST_RESIDUAL_PX:
        return None
    corners = np.array([_meet(lines[i - 1], lines[i]) for i in range(4)])
    pixels = to_pixels(np.column_stack((corners, np.ones(4))), lens)
    return SeenTag(pixels, corners, residual * lens.fx_px)


def _profiles(patch: npt.NDArray[np.float32], corners: Array) -> tuple[Array, Array, Array, Array]:
    """Sample across the four sides: (4, along, across), points on the guessed sides, outward normals."""
    ahead = np.roll(corners, -1, axis=0)
    side = ahead - corners
    length = np.hypot(side[:, 0], side[:, 1])
    outward = np.stack((side[:, 1], -side[:, 0]), axis=1) / length[:, None]
    base = corners[:, None, :] + ALONG[None, :, None] * side[:, None, :]
    if np.sum((corners.mean(axis=0) - base[0, 12]) * outward[0]) > 0.0:
        outward = -outward
    offsets = np.arange(-REACH_PX, REACH_PX + 0.01, STEP_PX)
    xy = base[:, :, None, :] + offsets[None, None, :, None] * outward[:, None, None, :]
    flat = xy.reshape(4 * ALONG.size, offsets.size, 2).astype(np.float32)
    sampled = cv2.remap(patch, flat[..., 0], flat[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return sampled.reshape(4, ALONG.size, offsets.size).astype(np.float64), base, outward, offsets


def _half_way(profiles: Array, offsets: Array) -> Array:
    """Where each profile crosses half way from black to its side's white (4, along); NaN if nowhere."""
    inner = profiles[..., 1:4].mean(axis=-1)
    black = float(np.percentile(inner, 25.0))
    white = middle_of_last(profiles[..., -3:].mean(axis=-1))
    half = 0.5 * (black + white)[:, None, None]
    above = profiles >= half
    rises = ~above[..., :-1] & above[..., 1:]
    first = rises.shape[-1] - 1 - np.argmax(rises[..., ::-1], axis=-1)
    near = np.abs(offsets[:-1] + 0.5 * STEP_PX)
    nearest = np.argmin(np.where(rises, near, np.inf), axis=-1)
    pick = np.where(rises.any(axis=-1), nearest, first)[..., None]
    v0 = np.take_along_axis(profiles, pick, axis=-1)[..., 0]
    v1 = np.take_along_axis(profiles, pick + 1, axis=-1)[..., 0]
    crossing = offsets[pick[..., 0]] + STEP_PX * (half[..., 0] - v0) / np.where(v1 > v0, v1 - v0, 1.0)
    usable = rises.any(axis=-1) & (
        (white - black)[:, None] > LEAST_CONTRAST * max(1.0 * float(white.max()), 0.1)
    )
    return np.where(usable, crossing, np.nan)


def _lines(points: Array, good: npt.NDArray[np.bool_], pixel: float) -> tuple[Array, float]:
    """Fit a line (ax + by + c = 0) to each side, wild points left out; also the scatter over all sides."""
    lines = np.empty((4, 3))
    squares, count = 0.0, 0
    for i in range(4):
        p = points[i][good[i]]
        for _ in range(2):
            centre = p.mean(axis=0)
            d = p - centre
            cov = d.T @ d
            angle = 0.5 * np.arctan2(2.0 * cov[0, 1], cov[0, 0] - cov[1, 1])
            normal = np.array([-np.sin(angle), np.cos(angle)])
            away = d @ normal
            far = np.abs(away)
            keep = far < max(2.5 * float(middle_of_last(far)) * 1.4826, 0.1 * pixel)
            lines[i] = (*normal, -float(normal @ centre))
            if keep.all() or keep.sum() < 8:
                break
            p = p[keep]
        squares += float(away @ away)
        count += away.size
    return lines, float(np.sqrt(squares / max(count - 8, 1)))


def _meet(one: Array, other: Array) -> Array:
    (a, b, c), (d, e, f) = one.tolist(), other.tolist()
    w = a * e - b * d
    return np.array([(b * f - c * e) / w, (c * d - a * f) / w])
