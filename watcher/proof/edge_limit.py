"""How near a level can be read at all in one picture: the Cramer-Rao bound of the line that is there."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from watcher.proof.true_view import TrueHole
from watcher.records.frames import Image
from watcher.setup.reading_forecast import HoleView, Picture, level_bound, level_sigma_mm

Array = npt.NDArray[np.float64]

FAR_SIDE_DEG = 35.0
BAND_MM = (1.2, 3.2)
"""Contrast is that of the wall and the slip at this distance above and below the true line. [mm]"""
TILE_PX = 24
DARKEST, BRIGHTEST = 40.0, 245.0
"""Tiles nearer to the ends of the scale show less noise than there is. [grey levels]"""
LEAST_CONTRAST = 0.1
ROUNDING = 0.29
"""Noise of rounding to whole grey levels, 12 ** -0.5."""


@dataclass(frozen=True, slots=True)
class TrueLine:
    """A line that is there to be read: in which hole, how deep, and its contrast. [mm, grey levels]."""

    mould: str
    time_s: float
    view: HoleView
    level_mm: float
    contrast: float


@dataclass(frozen=True, slots=True)
class EdgeLimit:
    """One line's bound.

    Attributes
    ----------
    mould : str
    time_s : float
    contrast : float
        Step from the filmed wall to the slip. [grey levels]
    noise : float
        Standard deviation of a pixel from picture to picture. [grey levels]
    known_mm, prior_mm : float
        Bound with the film's thickness known, and known as well as the volume balance knows it. [mm]
    forecast_mm : float
        With a matched filter, and with what is left unknown of film, rim and meniscus. [mm]
    """

    mould: str
    time_s: float
    contrast: float
    noise: float
    known_mm: float
    prior_mm: float
    forecast_mm: float


def edge_limit(line: TrueLine, noise: float) -> EdgeLimit | None:
    """Bound the reading of one line in a picture of that noise; None where nothing of it is in view."""
    told = Picture(contrast=max(line.contrast, LEAST_CONTRAST), noise=max(noise, ROUNDING))
    bound = level_bound(line.view, line.level_mm, told)
    if not math.isfinite(bound.film_known_mm):
        return None
    forecast_mm = level_sigma_mm(line.view, line.level_mm, told)
    return EdgeLimit(
        line.mould,
        line.time_s,
        line.contrast,
        noise,
        bound.film_known_mm,
        bound.film_prior_mm,
        forecast_mm,
    )


def line_contrast(image: Image, hole: TrueHole, level_mm: float, wall_mm: float) -> float | None:
    """Step of brightness across the true line on the far side of the hole. [grey levels]."""
    angles = np.radians(np.linspace(-FAR_SIDE_DEG, FAR_SIDE_DEG, 41))
    near, far = BAND_MM
    if level_mm - far < 0.3:
        near, far = 0.4 * level_mm, 0.9 * level_mm
    above = [hole.points_px(level_mm - d, wall_mm, angles) for d in (near, 0.5 * (near + far), far)]
    # on the slip: as far from the line in the picture as a deeper place of the wall would be
    below = [hole.points_px(level_mm + d, wall_mm, angles) for d in (near, 0.5 * (near + far), far)]
    grey = cv2.cvtColor(image, cv2.COLOR_BGR2GRAY)
    tones = [_tones(grey, np.concatenate(points)) for points in (above, below)]
    if any(one is None for one in tones):
        return None
    first, second = (one for one in tones if one is not None)
    return abs(float(np.median(second)) - float(np.median(first)))


def pixel_noise(image: Image, before: Image) -> float | None:
    """Noise of a pixel from two pictures of a scene that mostly stays as it is. [grey levels].

    The spread of their difference over small tiles, its median over the tiles that are neither black nor
    blown out, over the root of two. What moved or is lit otherwise fills few tiles, or lies evenly on them.
    """
    now, then = (cv2.cvtColor(one, cv2.COLOR_BGR2GRAY).astype(np.float64) for one in (image, before))
    rows, cols = (length // TILE_PX for length in now.shape)

    def tiles(values: Array) -> Array:
        cut = values[: rows * TILE_PX, : cols * TILE_PX].reshape(rows, TILE_PX, cols, TILE_PX)
        return np.asarray(cut.transpose(0, 2, 1, 3).reshape(rows * cols, -1))

    bright = tiles(now).mean(axis=1)
    shown = (bright > DARKEST) & (bright < BRIGHTEST)
    if not shown.any():
        return None
    return float(np.median(tiles(now - then)[shown].std(axis=1)) / math.sqrt(2.0))


def _tones(grey: npt.NDArray[np.uint8], points_xy: Array) -> Array | None:
    rows, cols = grey.shape
    x, y = np.rint(points_xy).astype(int).T
    inside = (x >= 0) & (x < cols) & (y >= 0) & (y < rows)
    if inside.sum() < 0.5 * len(x):
        return None
    return np.asarray(grey[y[inside], x[inside]], dtype=np.float64)
