"""Photographs of flat printed pages, made by tracing every pixel back through an exact lens.

Shares no code with the watcher: its lens, its turning and its sampling are written out here.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import cv2
import numpy as np

SUPER = 2


@dataclass(frozen=True)
class TrueLens:
    """Pinhole and Brown's five numbers."""

    width: int
    height: int
    f: float
    cx: float
    cy: float
    bent: tuple[float, float, float, float, float] = (0.0, 0.0, 0.0, 0.0, 0.0)

    def bend(self, x, y):
        """Ideal plane point -> where the lens puts it."""
        k1, k2, p1, p2, k3 = self.bent
        r2 = x * x + y * y
        radial = 1 + k1 * r2 + k2 * r2**2 + k3 * r2**3
        return (
            x * radial + 2 * p1 * x * y + p2 * (r2 + 2 * x * x),
            y * radial + p1 * (r2 + 2 * y * y) + 2 * p2 * x * y,
        )

    def project(self, points):
        """Camera points (N, 3) -> pixels (N, 2)."""
        x, y = self.bend(points[:, 0] / points[:, 2], points[:, 1] / points[:, 2])
        return np.column_stack((self.f * x + self.cx, self.f * y + self.cy))

    def straighten(self, u, v):
        """Pixels -> ideal plane, by fixed-point steps until they stand still."""
        xd, yd = (u - self.cx) / self.f, (v - self.cy) / self.f
        x, y = xd.copy(), yd.copy()
        for _ in range(80):
            bx, by = self.bend(x, y)
            x, y = x + (xd - bx), y + (yd - by)
            if max(np.abs(xd - bx).max(), np.abs(yd - by).max()) < 1e-7:
                break
        return x, y


@dataclass(frozen=True)
class FlatPage:
    """A raster of a page (grey, rows down), `px_per_mm`, its middle and axes in the camera's frame.

    `axes` columns: right along the page, up the page, out of its face.
    """

    raster: np.ndarray
    px_per_mm: float
    centre: np.ndarray
    axes: np.ndarray


def turned(x_deg=0.0, y_deg=0.0, z_deg=0.0):
    """Rotation about x, then y, then z (fixed axes)."""
    a, b, c = np.radians([x_deg, y_deg, z_deg])
    rx = np.array([[1, 0, 0], [0, np.cos(a), -np.sin(a)], [0, np.sin(a), np.cos(a)]])
    ry = np.array([[np.cos(b), 0, np.sin(b)], [0, 1, 0], [-np.sin(b), 0, np.cos(b)]])
    rz = np.array([[np.cos(c), -np.sin(c), 0], [np.sin(c), np.cos(c), 0], [0, 0, 1]])
    return rz @ ry @ rx


def facing(x_deg=0.0, y_deg=0.0, z_deg=0.0):
    """Axes of a page that faces the camera upright, then turned in the camera's frame (y down, z away)."""
    return turned(x_deg, y_deg, z_deg) @ np.diag([1.0, -1.0, -1.0])


def photograph(lens, pages, *, ground=110.0, blur=0.8, noise=2.0, seed=1):
    """A colour picture of the pages, later ones over earlier ones."""
    x, y = _plane(lens)
    light = np.full(x.shape, _light(np.float64(ground)), np.float32)
    for page in pages:
        _lay(light, x, y, page)
    light = cv2.resize(light, (lens.width, lens.height), interpolation=cv2.INTER_AREA)
    if blur:
        light = cv2.GaussianBlur(light, (0, 0), blur)
    grey = 255.0 * np.where(
        light <= 0.0031308, 12.92 * light, 1.055 * np.maximum(light, 1e-9) ** (1 / 2.4) - 0.055
    )
    grey = grey + np.random.default_rng(seed).normal(0.0, noise, grey.shape)
    return cv2.cvtColor(np.clip(np.round(grey), 0, 255).astype(np.uint8), cv2.COLOR_GRAY2BGR)


@lru_cache(maxsize=2)
def _plane(lens):
    """Where each part of each pixel looks, on the plane one unit before the camera."""
    v, u = np.mgrid[0 : lens.height * SUPER, 0 : lens.width * SUPER]
    return lens.straighten((u + 0.5) / SUPER - 0.5, (v + 0.5) / SUPER - 0.5)


def _light(grey):
    v = grey / 255.0
    return np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4)


def _lay(light, x, y, page):
    normal = page.axes[:, 2]
    reach = float(page.centre @ normal) / (x * normal[0] + y * normal[1] + normal[2])
    away = np.stack((x * reach, y * reach, reach), axis=-1) - page.centre
    column = (away @ page.axes[:, 0]) * page.px_per_mm + 0.5 * page.raster.shape[1] - 0.5
    row = -(away @ page.axes[:, 1]) * page.px_per_mm + 0.5 * page.raster.shape[0] - 0.5
    inside = (
        (reach > 0)
        & (column > 0)
        & (row > 0)
        & (column < page.raster.shape[1] - 1)
        & (row < page.raster.shape[0] - 1)
    )
    # printed black is not nought and paper not full: 4 to 80 % of the light
    page_light = 0.04 + 0.76 * _light(page.raster.astype(np.float64)).astype(np.float32)
    seen = cv2.remap(page_light, column.astype(np.float32), row.astype(np.float32), cv2.INTER_LINEAR)
    light[inside] = seen[inside]
