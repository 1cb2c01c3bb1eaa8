"""The still part of the picture: table, bench sheet, moulds and cards, drawn in true perspective.

Every flat patch is coloured by the bench point that each subpixel looks at, so tags and edges lie where the
geometry says, to a fraction of a subpixel.
"""

from __future__ import annotations

from collections.abc import Callable

import cv2
import numpy as np
import numpy.typing as npt

from watcher.records.layout import SheetTag
from watcher.simulator.bench import CARD_LIFT_MM, Colour, Seat, SimBench, SimMould, on_bench
from watcher.simulator.viewing import View

Array = npt.NDArray[np.float64]
Picture = npt.NDArray[np.uint8]
Painter = Callable[[Array, Array], Array]

FINE = 3
"""Subpixels along each side of a pixel."""
INK, PAPER = 38.0, 226.0
CARD_SHARE = 1.32
"""A card's paper is so much wider than its tag (a white margin all round)."""


def still_picture(bench: SimBench, view: View, seats: tuple[Seat, ...]) -> Picture:
    """Draw everything but what is inside the pour holes; shape (rows, cols, 3), BGR."""
    rng = np.random.default_rng(bench.seed)
    lens = view.lens
    table = np.clip(bench.table + _mottle(rng, (lens.height_px, lens.width_px), 9.0)[..., None], 0, 255)
    fine = cv2.resize(table.astype(np.uint8), None, fx=FINE, fy=FINE, interpolation=cv2.INTER_LINEAR)
    grain = _mottle(rng, (512, 512), 2.5)
    _paint_sheet(fine, bench, view)
    for i in far_to_near(view, seats):
        _paint_mould(fine, bench, view, bench.moulds[i], seats[i], grain)
    small = cv2.resize(fine, (lens.width_px, lens.height_px), interpolation=cv2.INTER_AREA)
    return np.asarray(small, dtype=np.uint8)


def far_to_near(view: View, seats: tuple[Seat, ...]) -> list[int]:
    """Order the moulds that are there by their distance from the camera, the farthest first."""
    eye = np.array(view.eye_mm[:2])
    there = [i for i, seat in enumerate(seats) if seat.there]
    return sorted(there, key=lambda i: -float(np.hypot(*(eye - (seats[i].x_mm, seats[i].y_mm)))))


def owners(bench: SimBench, view: View, seats: tuple[Seat, ...]) -> npt.NDArray[np.int16]:
    """Tell which mould each pixel shows, (rows, cols): its number in the bench, or -1."""
    shown = np.full((view.lens.height_px, view.lens.width_px), -1, np.int16)
    for i in far_to_near(view, seats):
        mould = bench.moulds[i]
        top = _outline(mould.half_mm, mould.is_round)
        heights = np.repeat([0.0, -mould.height_mm], len(top))
        body = np.column_stack([np.concatenate([top, top]), heights])
        flat = view.project(on_bench(mould, seats[i], body))
        hull = cv2.convexHull(np.round(flat).astype(np.int32))
        cv2.fillConvexPoly(shown, hull, i)
    return shown


def white_cells(tag_id: int) -> npt.NDArray[np.bool_]:
    """Cells of an AprilTag 36h11, (8, 8), row 0 at the tag's upper edge; True is white."""
    tags = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11)
    return np.asarray(cv2.aruco.generateImageMarker(tags, tag_id, 8) > 127)


def _mottle(rng: np.random.Generator, shape: tuple[int, int], strength: float) -> Array:
    field = np.zeros(shape)
    for cell, share in ((64, 0.6), (8, 0.4)):
        small = rng.standard_normal((shape[0] // cell + 2, shape[1] // cell + 2))
        field += share * cv2.resize(small, (shape[1], shape[0]), interpolation=cv2.INTER_CUBIC)
    return np.asarray(strength * field, dtype=np.float64)


def _paint(
    fine: Picture, view: View, edge_mm: Array, origin_mm: Array, along: Array, across: Array, painter: Painter
) -> None:
    """Colour the patch inside `edge_mm` (n, 3): `painter(u, v)` of coordinates along two axes from origin."""
    flat = FINE * (view.project(edge_mm) + 0.5) - 0.5
    low = np.maximum(np.floor(flat.min(axis=0)).astype(int) - 1, 0)
    high = np.minimum(np.ceil(flat.max(axis=0)).astype(int) + 2, (fine.shape[1], fine.shape[0]))
    if (high <= low).any():
        return
    mask = np.zeros((high[1] - low[1], high[0] - low[0]), np.uint8)
    cv2.fillPoly(mask, [np.round((flat - low) * 16).astype(np.int32)], 1, shift=4)
    rows, cols = np.nonzero(mask)
    pixels = (np.column_stack([cols, rows]) + low + 0.5) / FINE - 0.5
    rays, eye = view.rays(pixels), np.array(view.eye_mm)
    normal = np.cross(along, across)
    far = ((origin_mm - eye) @ normal) / (rays @ normal)
    offset = eye + far[:, None] * rays - origin_mm
    colours = painter(offset @ along, offset @ across)
    fine[rows + low[1], cols + low[0]] = np.clip(colours, 0, 255).astype(np.uint8)


def _outline(half_mm: float, is_round: bool) -> Array:
    if is_round:
        a = np.arange(64) * 2.0 * np.pi / 64
        return np.column_stack([half_mm * np.cos(a), half_mm * np.sin(a)])
    t = np.linspace(-half_mm, half_mm, 17)[:-1]
    side = np.column_stack([t, np.full_like(t, -half_mm)])
    sides = []
    for _ in range(4):
        sides.append(side)
        side = np.column_stack([-side[:, 1], side[:, 0]])
    return np.concatenate(sides)


def _tag_painter(size_mm: float, tag_id: int, centre: tuple[float, float], under: Painter) -> Painter:
    """Paper with a tag upright on (u, v) about `centre`; `under` outside of it."""
    cells, paper = white_cells(tag_id), size_mm * CARD_SHARE

    def paint(u: Array, v: Array) -> Array:
        x, y = u - centre[0], v - centre[1]
        colours = under(u, v)
        colours[np.maximum(np.abs(x), np.abs(y)) < paper / 2] = PAPER
        inside = np.maximum(np.abs(x), np.abs(y)) < size_mm / 2
        column = np.floor((x[inside] / size_mm + 0.5) * 8).astype(int).clip(0, 7)
        row = np.floor((0.5 - y[inside] / size_mm) * 8).astype(int).clip(0, 7)
        colours[inside] = np.where(cells[row, column], PAPER, INK)[:, None]
        return colours

    return paint


def _plain(colour: Colour, grain: Array | None, gain: float) -> Painter:
    def paint(u: Array, v: Array) -> Array:
        colours = np.tile(np.array(colour) * gain, (len(u), 1))
        if grain is not None:
            rows, cols = (v * 2).astype(int) % grain.shape[0], (u * 2).astype(int) % grain.shape[1]
            colours += grain[rows, cols][:, None]
        return colours

    return paint


def _tag_axes(tag: SheetTag) -> tuple[Array, Array]:
    """Where a tag's own right and up point in the bench frame."""
    a, b, c = np.radians(tag.rotation_deg or (0.0, 0.0, tag.yaw_deg))
    about_x = np.array([[1, 0, 0], [0, np.cos(a), -np.sin(a)], [0, np.sin(a), np.cos(a)]])
    about_y = np.array([[np.cos(b), 0, np.sin(b)], [0, 1, 0], [-np.sin(b), 0, np.cos(b)]])
    about_z = np.array([[np.cos(c), -np.sin(c), 0], [np.sin(c), np.cos(c), 0], [0, 0, 1]])
    turned = about_z @ about_y @ about_x
    return turned[:, 0], turned[:, 1]


def _paint_sheet(fine: Picture, bench: SimBench, view: View) -> None:
    for tag in bench.sheet:
        along, across = _tag_axes(tag)
        centre, half = np.array(tag.centre_mm), tag.size_mm * CARD_SHARE / 2
        square = _outline(half, False)
        edge = centre + square[:, :1] * along + square[:, 1:] * across
        paper = _plain((PAPER, PAPER, PAPER), None, 1.0)
        _paint(fine, view, edge, centre, along, across, _tag_painter(tag.size_mm, tag.tag_id, (0, 0), paper))


def _paint_mould(
    fine: Picture, bench: SimBench, view: View, mould: SimMould, seat: Seat, grain: Array
) -> None:
    outline = _outline(mould.half_mm, mould.is_round)
    top = on_bench(mould, seat, np.column_stack([outline, np.zeros(len(outline))]))
    foot = top - (0.0, 0.0, mould.height_mm)
    eye, light = np.array(view.eye_mm), np.array([-0.55, 0.45, 0.7])
    for i in range(len(top)):
        j = (i + 1) % len(top)
        along = top[j] - top[i]
        along = along / np.linalg.norm(along)
        out = np.array([along[1], -along[0], 0.0])
        if (eye - top[i]) @ out <= 0:
            continue
        gain = 0.62 + 0.30 * max(float(out @ light), 0.0)
        quad = np.stack([top[i], top[j], foot[j], foot[i]])
        painter = _plain(bench.plaster, grain, gain)
        _paint(fine, view, quad, foot[i], along, np.array([0.0, 0.0, 1.0]), painter)
    c, s = np.cos(np.radians(seat.yaw_deg)), np.sin(np.radians(seat.yaw_deg))
    along, across = np.array([c, s, 0.0]), np.array([-s, c, 0.0])
    rim = np.array([seat.x_mm, seat.y_mm, mould.height_mm])
    _paint(fine, view, top, rim, along, across, _plain(bench.plaster, grain, 1.0))
    square = _outline(mould.tag_mm * CARD_SHARE / 2, False) + mould.card_xy_mm
    lifted = np.column_stack([square, np.full(len(square), CARD_LIFT_MM)])
    painter = _tag_painter(
        mould.tag_mm, mould.tag_id, mould.card_xy_mm, _plain((PAPER, PAPER, PAPER), None, 1.0)
    )
    edge, middle = on_bench(mould, seat, lifted), rim + np.array([0.0, 0.0, CARD_LIFT_MM])
    _paint(fine, view, edge, middle, along, across, painter)
