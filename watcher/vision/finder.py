"""Pour holes found without a card: the rim as an ellipse, the liquid's line as a smaller one below it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from watcher.records.frames import Image
from watcher.records.readings import Missed
from watcher.vision.lighting import LINEAR

Array = npt.NDArray[np.float64]
Floats = npt.NDArray[np.float32]

WORK_COLS = 640
SMALLEST_PX = 12.0
LEAST_SUPPORT = 0.55
ROUND = 90
ALIKE_FLAT = 0.05
CANNY_STEPS = (0.6, 1.0, 1.6)
LINE_SPAN = math.radians(65.0)
"""Directions either side of the far wall over which the liquid's line is looked for."""


@dataclass(frozen=True, slots=True)
class Rim:
    """A rim in the picture: an ellipse that is taken to be a level circle seen from afar.

    Attributes
    ----------
    centre_rc : tuple of float
        (row, col). [px]
    long_px, short_px : float
        Half axes. [px]
    angle_deg : float
        Turn of the long axis against the picture's rows.
    support : float
        Share of the round, 0 to 1, along which there is an edge.
    """

    centre_rc: tuple[float, float]
    long_px: float
    short_px: float
    angle_deg: float
    support: float

    def points(self, count: int = ROUND) -> Array:
        """Points (count, 2) as (x, y) along the rim."""
        return _round(self, np.arange(count) * 2.0 * math.pi / count, 1.0)


@dataclass(frozen=True, slots=True)
class LineInRim:
    """Where the liquid stands in a rim, with no lens known.

    `drop` is its depth below the rim as a share of the rim's radius, `sigma` its standard deviation, `radius`
    the liquid's radius as such a share, `line_rc` the line's points (N, 2) as (row, col).
    """

    drop: float
    sigma: float
    radius: float
    line_rc: Array


def find_rims(image: Image, most: int = 8) -> tuple[Rim, ...]:
    """Find ellipses with an edge around most of them, best supported and largest first."""
    scale = min(1.0, WORK_COLS / image.shape[1])
    small = cv2.resize(image, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    grey = cv2.GaussianBlur(cv2.cvtColor(small, cv2.COLOR_BGR2GRAY), (0, 0), 1.2)
    gx, gy = cv2.Sobel(grey, cv2.CV_32F, 1, 0) / 8.0, cv2.Sobel(grey, cv2.CV_32F, 0, 1) / 8.0
    strength = float(np.percentile(np.hypot(gx, gy), 80.0)) + 1.0
    found: list[Rim] = []
    for step in CANNY_STEPS:
        edges = cv2.Canny(grey, 8.0 * strength * step, 16.0 * strength * step)
        contours, _ = cv2.findContours(edges, cv2.RETR_LIST, cv2.CHAIN_APPROX_NONE)
        for contour in contours:
            rim = _from_contour(contour, gx, gy, strength)
            if rim is not None and not any(_alike(rim, other) for other in found):
                found.append(rim)
    found.sort(key=lambda r: -r.support * math.sqrt(r.long_px))
    return tuple(_scaled(r, 1.0 / scale) for r in found[:most])


def rim_at(image: Image, row: float, col: float) -> Rim | Missed:
    """Return the innermost well supported rim around a point that was clicked inside a pour hole.

    Level circles in one place are seen equally flat: an ellipse flatter or rounder than the best supported
    one is none of them, but the part in view of a liquid's edge, perhaps.
    """
    around = [r for r in find_rims(image, most=30) if _inside(r, row, col)]
    if not around:
        return Missed.CARD_LOST
    flat = around[0].short_px / around[0].long_px
    level = [r for r in around if abs(r.short_px / r.long_px - flat) < ALIKE_FLAT]
    return min(level, key=lambda r: r.long_px)


def _from_contour(contour: npt.NDArray[np.int32], gx: Floats, gy: Floats, strength: float) -> Rim | None:
    if len(contour) < 30:
        return None
    box = np.ptp(contour[:, 0], axis=0)
    if float(box.max()) < 2.0 * SMALLEST_PX:
        return None
    rim = _ellipse(contour[:, 0].astype(np.float32))
    for _ in range(4):
        if rim is None:
            return None
        rim = _refined(rim, gx, gy, strength)
    return rim if rim is not None and rim.support >= LEAST_SUPPORT else None


def _ellipse(points: Floats) -> Rim | None:
    if len(points) < 12:
        return None
    (x, y), (one, two), angle = cv2.fitEllipseDirect(points)
    if not all(map(math.isfinite, (x, y, one, two, angle))):
        return None
    long, short = 0.5 * max(one, two), 0.5 * min(one, two)
    turned = angle if one >= two else angle + 90.0
    if short < 0.25 * long or long < SMALLEST_PX or long > 2000.0:
        return None
    return Rim((y, x), long, short, turned, 0.0)


def _refined(rim: Rim, gx: Floats, gy: Floats, strength: float) -> Rim | None:
    """Move the ellipse onto the strongest edges near it; count how much of it has any."""
    around = np.arange(ROUND) * 2.0 * math.pi / ROUND
    reach = np.linspace(-0.06, 0.06, 13)
    points = np.stack([_round(rim, around, 1.0 + r) for r in reach], axis=1)
    normal = points[:, -1] - points[:, 0]
    normal /= np.maximum(np.hypot(normal[:, 0], normal[:, 1]), 1e-6)[:, None]
    at = points.astype(np.float32)
    dx = cv2.remap(gx, at[..., 0], at[..., 1], cv2.INTER_LINEAR)
    dy = cv2.remap(gy, at[..., 0], at[..., 1], cv2.INTER_LINEAR)
    across = dx * normal[:, None, 0] + dy * normal[:, None, 1]
    sign = 1.0 if float(np.median(across[:, 6])) >= 0.0 else -1.0
    score = sign * across - 0.3 * strength * np.abs(reach) / 0.06
    best = np.argmax(score, axis=1)
    good = np.take_along_axis(sign * across, best[:, None], axis=1)[:, 0] > 1.2 * strength
    if good.sum() < 12:
        return None
    moved = _ellipse(points[np.arange(ROUND), best][good].astype(np.float32))
    if moved is None:
        return None
    return Rim(moved.centre_rc, moved.long_px, moved.short_px, moved.angle_deg, float(good.mean()))


def _round(rim: Rim, around: Array, scale: float, down_px: float = 0.0) -> Array:
    """Points (N, 2) of the ellipse scaled about its centre and shifted down along its short axis."""
    turn = math.radians(rim.angle_deg)
    u = scale * rim.long_px * np.cos(around)
    v = scale * rim.short_px * np.sin(around)
    short = np.array([-math.sin(turn), math.cos(turn)])
    short = short if short[1] >= 0.0 else -short
    x = rim.centre_rc[1] + u * math.cos(turn) + v * short[0] + down_px * short[0]
    y = rim.centre_rc[0] + u * math.sin(turn) + v * short[1] + down_px * short[1]
    return np.stack((x, y), axis=-1)


def _alike(one: Rim, other: Rim) -> bool:
    apart = math.hypot(one.centre_rc[0] - other.centre_rc[0], one.centre_rc[1] - other.centre_rc[1])
    return apart < 0.06 * other.long_px and abs(one.long_px - other.long_px) < 0.05 * other.long_px


def _inside(rim: Rim, row: float, col: float) -> bool:
    turn = math.radians(rim.angle_deg)
    dx, dy = col - rim.centre_rc[1], row - rim.centre_rc[0]
    u = dx * math.cos(turn) + dy * math.sin(turn)
    v = -dx * math.sin(turn) + dy * math.cos(turn)
    return (u / rim.long_px) ** 2 + (v / rim.short_px) ** 2 < 1.0


def _scaled(rim: Rim, by: float) -> Rim:
    row, col = rim.centre_rc
    centre = ((row + 0.5) * by - 0.5, (col + 0.5) * by - 0.5)
    return Rim(centre, rim.long_px * by, rim.short_px * by, rim.angle_deg, rim.support)


def line_in_rim(image: Image, rim: Rim) -> LineInRim | Missed:
    """Find an opaque liquid's line inside a rim and how far below the rim it stands.

    The liquid's edge is a level circle too: an ellipse of the rim's shape, smaller by the wall's taper and
    shifted along the short axis by the drop times the sine of the view's angle from the vertical. A longer
    arc is better evidence: each is weighed by its size.
    """
    steep = math.acos(min(rim.short_px / rim.long_px, 0.999))
    light = LINEAR[cv2.GaussianBlur(image, (0, 0), max(0.008 * rim.long_px, 0.6))].astype(np.float32)
    shifts = np.linspace(0.08, 1.7, 110) * rim.short_px
    scales = np.linspace(0.60, 1.0, 41)
    away = np.linspace(-LINE_SPAN, LINE_SPAN, 41) - 0.5 * math.pi
    gain = np.full((scales.size, shifts.size), -np.inf)
    for k, scale in enumerate(scales):
        rows = np.stack([_round(rim, away, scale, float(d)) for d in shifts])
        at = rows.astype(np.float32)
        seen = np.stack(
            [cv2.remap(light[..., c], at[..., 0], at[..., 1], cv2.INTER_LINEAR) for c in range(3)], -1
        )
        inside = np.array([[_inside(rim, float(p[1]), float(p[0])) for p in r] for r in rows[:, ::5]]).mean(
            axis=1
        )
        step = np.zeros(shifts.size)
        edge = seen[4:] - seen[:-4]
        mean = edge.mean(axis=1)
        rough = edge.std(axis=1).mean(axis=-1) + 0.01
        step[2:-2] = np.hypot(np.hypot(mean[:, 0], mean[:, 1]), mean[:, 2]) / rough
        gain[k] = np.where(inside > 0.95, step * scale, -np.inf)
    i, j = divmod(int(np.argmax(gain)), gain.shape[1])
    if not np.isfinite(gain[i, j]) or gain[i, j] < 1.5:
        return Missed.UNCERTAIN
    near = np.exp(-0.5 * ((gain - gain[i, j]) / (0.06 * gain[i, j])) ** 2) * np.isfinite(gain)
    near[gain < 0.8 * gain[i, j]] = 0.0
    weight = near / near.sum()
    drops = shifts[None, :] / (rim.long_px * math.sin(steep)) + 0.0 * gain.clip(0.0, 0.0)
    mean = float((weight * drops).sum())
    spread = math.sqrt(float((weight * (drops - mean) ** 2).sum()))
    pixel = 1.0 / (rim.long_px * math.sin(steep))
    line = _round(rim, away, float(scales[i]), float(shifts[j]))[:, ::-1]
    return LineInRim(mean, math.hypot(spread, pixel, 0.02 * mean), float(scales[i]), line)
