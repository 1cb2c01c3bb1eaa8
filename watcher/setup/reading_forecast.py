"""How well the level in a hole will be read from where the camera stands, before the first pour."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

FILTER_OVER_BOUND = 1.7
"""A matched filter reaches 1.45 to 2 times the bound (measured on rendered scenes)."""
FILM_SIGMA_MM = 0.2
"""How surely the clay on the wall above the level is known from the volume balance (rendered scenes)."""
ANCHOR_SIGMA_MM, MENISCUS_SIGMA_MM = 0.10, 0.12
"""What the place of the rim and the meniscus leave after the rim was seen empty (rendered scenes)."""
SEEN_SHARE = 0.15
"""Least share of the slip's surface, from its far edge towards the camera, at which a level can be read."""


@dataclass(frozen=True, slots=True)
class Picture:
    """What the picture is like at a hole.

    Attributes
    ----------
    contrast : float
        Step from the filmed wall to the slip. [grey levels]
    noise : float
        Standard deviation of one pixel. [grey levels]
    blur_px : float
        Standard deviation of the blur. [px]
    independent : float
        Share of pixels that tell something of their own, after colour filter and JPEG.
    """

    contrast: float = 15.0
    noise: float = 2.5
    blur_px: float = 1.0
    independent: float = 0.5


@dataclass(frozen=True, slots=True)
class HoleView:
    """How the camera sees a round hole.

    `bore` holds (depth, diameter) rows from the rim down, in mm; `from_vertical_deg` is the angle between the
    line of sight and the vertical; `px_per_mm` what a millimetre across the line of sight is in the picture.
    """

    bore: tuple[tuple[float, float], ...]
    from_vertical_deg: float
    px_per_mm: float

    def radius_mm(self, depth_mm: float | Array) -> Array:
        """Radius of the bare hole at a depth, in mm."""
        depths, diameters = zip(*self.bore, strict=True)
        return np.asarray(np.interp(depth_mm, depths, diameters), dtype=np.float64) / 2.0


@dataclass(frozen=True, slots=True)
class LevelBound:
    """Best standard deviation of a level in one frame that noise allows, and what film does to it.

    `film_known_mm` and `film_free_mm`: with the film's thickness known, and told by the picture itself;
    `film_prior_mm`: with the film known as well as the volume balance knows it. `bias_per_film`: error of
    the level for every mm of film that is not reckoned with. Infinite where nothing is in view.
    """

    film_known_mm: float
    film_free_mm: float
    film_prior_mm: float
    bias_per_film: float


def seen_share(view: HoleView, depth_mm: float) -> float:
    """Tell how much of the slip's surface is in view when it stands at a depth.

    Returns
    -------
    float
        Share of the diameter along the line of sight that is seen past the near edges above it, 0 to 1.
    """
    radius = float(view.radius_mm(depth_mm))
    tan = math.tan(math.radians(view.from_vertical_deg))
    seen = [
        (float(view.radius_mm(height)) + radius - (depth_mm - height) * tan) / (2.0 * radius)
        for height in _edges_above(view, depth_mm)
    ]
    return min(1.0, max(0.0, min(seen)))


def level_bound(view: HoleView, depth_mm: float, picture: Picture) -> LevelBound:
    """Return the Cramer-Rao bound on the level's standard deviation.

    Parameters
    ----------
    view : HoleView
    depth_mm : float
        Level below the rim. [mm]
    picture : Picture

    Notes
    -----
    The image edge moves along its normal by s (sin phi cos psi + m cos phi) w for one more mm of depth and by
    s cos phi w for one mm of film, w = (cos2 psi + cos2 phi sin2 psi)^-1/2; a step C blurred by b in noise
    sigma carries C2 / (2 sqrt(pi) b sigma2) for every pixel of arc, of which there are s R / w per radian.
    """
    phi = math.radians(view.from_vertical_deg)
    psi = _angles()
    seen = _seen_arc(view, depth_mm)
    w = 1.0 / np.sqrt(np.cos(psi) ** 2 + (math.cos(phi) * np.sin(psi)) ** 2)
    narrowing = float(view.radius_mm(depth_mm) - view.radius_mm(depth_mm + 1.0))
    by_depth = math.sin(phi) * np.cos(psi) + narrowing * math.cos(phi)
    by_film = np.full_like(psi, math.cos(phi))
    radius = float(view.radius_mm(depth_mm))
    scale = picture.independent * picture.contrast**2 * view.px_per_mm**3 * radius
    scale /= 2.0 * math.sqrt(math.pi) * picture.blur_px * picture.noise**2
    step = 2.0 * math.pi / psi.size

    def told(one: Array, other: Array) -> float:
        return scale * float((one * other * w * seen).sum()) * step

    dd, df, ff = told(by_depth, by_depth), told(by_depth, by_film), told(by_film, by_film)
    if dd <= 0.0:
        return LevelBound(math.inf, math.inf, math.inf, math.inf)
    free = dd - df * df / ff if ff > 0.0 else dd
    prior = dd - df * df / (ff + 1.0 / FILM_SIGMA_MM**2)
    return LevelBound(dd**-0.5, free**-0.5 if free > 1e-12 * dd else math.inf, prior**-0.5, df / dd)


def lost_below_mm(view: HoleView, share: float = SEEN_SHARE) -> float | None:
    """Return the depth below which less than a share of the surface is in view; None: never."""
    for depth in np.arange(0.5, view.bore[-1][0] + 0.25, 0.5):
        if seen_share(view, float(depth)) < share:
            return float(depth) - 0.5
    return None


def level_sigma_mm(view: HoleView, depth_mm: float, picture: Picture) -> float:
    """Return the standard deviation to be expected of a level reading, in mm; infinite: out of sight."""
    if seen_share(view, depth_mm) < SEEN_SHARE:
        return math.inf
    bound = level_bound(view, depth_mm, picture)
    noise = FILTER_OVER_BOUND * bound.film_known_mm
    film = bound.bias_per_film * FILM_SIGMA_MM
    return math.sqrt(noise**2 + film**2 + ANCHOR_SIGMA_MM**2 + MENISCUS_SIGMA_MM**2)


def _angles() -> Array:
    """Azimuths round the hole from its far point, 0 at the first."""
    return np.linspace(-math.pi, math.pi, 1440, endpoint=False)


def _edges_above(view: HoleView, depth_mm: float) -> list[float]:
    """Heights at which something can stand in the way: the rim and every bend of the wall above the slip."""
    return [0.0, *(row[0] for row in view.bore if 0.0 < row[0] < depth_mm)]


def _seen_arc(view: HoleView, depth_mm: float) -> Array:
    """1 where the liquid's edge is seen past every narrower place above it, else 0, for each of `_angles`."""
    psi, tan = _angles(), math.tan(math.radians(view.from_vertical_deg))
    radius = float(view.radius_mm(depth_mm))
    seen = np.ones(psi.size)
    for height in _edges_above(view, depth_mm):
        drop = (depth_mm - height) * tan
        inside = (radius * np.cos(psi) - drop) ** 2 + (radius * np.sin(psi)) ** 2
        seen *= inside <= float(view.radius_mm(height)) ** 2 * (1.0 + 1e-9)
    return seen
