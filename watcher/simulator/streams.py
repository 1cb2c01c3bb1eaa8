"""Slip that falls from a jug into a pour hole, and the jug: drawn over the picture, with its own truth."""

from __future__ import annotations

import cv2
import numpy as np
import numpy.typing as npt

from watcher.simulator.bench import Colour, Seat, SimBench, SimMould
from watcher.simulator.holes import HoleView
from watcher.simulator.truth import Inside
from watcher.simulator.viewing import View

Array = npt.NDArray[np.float64]

HALF_MM = 2.6
"""Half the width of the stream. [mm]"""
LIP_MM = 75.0
"""Height of the jug's lip over the rim. [mm]"""
LEAN_MM = (6.0, 1.5)
"""How far the lip stands aside of where the stream falls. [mm]"""
JUG: Colour = (168.0, 158.0, 140.0)
JUG_MM = (42.0, 110.0)
"""Half width and length of the jug. [mm]"""
SHADES = ((1.0, 0.80), (0.62, 1.0), (0.25, 1.12))
"""Share of the half width, and light on it: a round stream is darker at its sides."""


def draw_stream(
    picture: npt.NDArray[np.uint8],
    view: View,
    bench: SimBench,
    mould: SimMould,
    seat: Seat,
    hole: HoleView,
    inside: Inside,
    at_mm: tuple[float, float],
) -> None:
    """Draw the stream over and in a pour hole, and the jug that it comes from, in place.

    Parameters
    ----------
    at_mm : tuple of float
        Where it crosses the rim's level, (x, y) from the rim's centre in the bench frame. [mm]
    """
    deep = min(inside.level_mm if inside.level_mm is not None else mould.profile.depth_mm, 60.0)
    centre = np.array([seat.x_mm, seat.y_mm, mould.height_mm])
    lean = np.array([*LEAN_MM, 0.0]) / LIP_MM
    heights = np.linspace(-deep, LIP_MM, 40)
    falls = np.array([*at_mm, 0.0])
    spine = centre + falls + heights[:, None] * (lean + np.array([0.0, 0.0, 1.0]))
    _jug(picture, view, spine[-1])
    cover = np.zeros(picture.shape[:2], np.uint8)
    rows, cols = hole.cover.shape
    cover[hole.top : hole.top + rows, hole.left : hole.left + cols] = hole.cover > 0.5
    for share, light in SHADES:
        colour = tuple(float(min(c * light, 255.0)) for c in bench.clay)
        for part, mask in ((heights >= -3.0, None), (heights <= 0.0, cover)):
            _strip(picture, view, spine[part], HALF_MM * share, colour, mask)


def _strip(
    picture: npt.NDArray[np.uint8],
    view: View,
    spine: Array,
    half_mm: float,
    colour: tuple[float, ...],
    mask: npt.NDArray[np.uint8] | None,
) -> None:
    """Draw an upright band of this half width, only where the mask is set."""
    aside = half_mm * np.array(view.axes[0])
    flat = np.concatenate([view.project(spine + aside), view.project(spine - aside)[::-1]])
    drawn = picture if mask is None else picture.copy()
    cv2.fillPoly(drawn, [np.round(flat * 16).astype(np.int32)], colour, cv2.LINE_AA, 4)
    if mask is not None:
        picture[mask > 0] = drawn[mask > 0]


def _jug(picture: npt.NDArray[np.uint8], view: View, lip_mm: Array) -> None:
    """Draw the jug as a tilted band whose end is at the lip, its body up and to the right."""
    along = np.array([0.8, 0.25, 0.45])
    ends = np.stack([lip_mm, lip_mm + JUG_MM[1] * along])
    _strip(picture, view, ends + np.array([8.0, 0.0, 12.0]), JUG_MM[0], JUG, None)
