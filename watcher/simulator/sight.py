"""How much of a slip's edge a simulated camera sees: past the rim, the clay above it, and hands."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from watcher.simulator.bench import Seat, SimMould, on_bench
from watcher.simulator.faults import Hand, draw_hand
from watcher.simulator.holes import free_halves
from watcher.simulator.truth import Inside
from watcher.simulator.viewing import View

Array = npt.NDArray[np.float64]

EDGE_POINTS = 120


def seen_share(
    view: View,
    mould: SimMould,
    seat: Seat,
    inside: Inside,
    hands: tuple[Hand, ...],
    hidden: frozenset[int] = frozenset(),
) -> float:
    """Share of the slip's edge, over all pour holes, that the camera sees, 0 to 1; 0 without slip.

    `hidden` are pour holes whose line something else than a hand hides.
    """
    if inside.level_mm is None or not seat.there:
        return 0.0
    covered = np.zeros((view.lens.height_px, view.lens.width_px, 3), np.uint8)
    for hand in hands:
        draw_hand(covered, view, hand)
    count = len(mould.profile.holes)
    shares = [0.0 if k in hidden else _of_hole(view, mould, seat, inside, k, covered) for k in range(count)]
    return float(np.mean(shares))


def _of_hole(
    view: View, mould: SimMould, seat: Seat, inside: Inside, k: int, covered: npt.NDArray[np.uint8]
) -> float:
    level = float(inside.level_mm or 0.0)
    a = np.arange(EDGE_POINTS) * 2.0 * np.pi / EDGE_POINTS
    ends = free_halves(mould, k, inside, np.array([level], np.float32))
    middle = np.array([*mould.profile.holes[k].centre_mm, 0.0])
    edge = np.column_stack(
        [float(ends[0][0]) * np.cos(a), float(ends[1][0]) * np.sin(a), np.full_like(a, -level)]
    )
    points = on_bench(mould, seat, edge + middle)
    passes = _past_the_rim(view, mould, seat, inside, k, edge, middle)
    flat = np.round(view.project(points)).astype(int)
    size = (view.lens.width_px, view.lens.height_px)
    within = np.all((flat >= 0) & (flat < size), axis=1)
    spots = np.clip(flat, 0, np.subtract(size, 1))
    bare = covered[spots[:, 1], spots[:, 0]].max(axis=1) == 0
    return float(np.mean(passes & within & bare))


def _past_the_rim(
    view: View, mould: SimMould, seat: Seat, inside: Inside, k: int, edge: Array, middle: Array
) -> npt.NDArray[np.bool_]:
    """Which edge points are seen past everything above them."""
    level = float(inside.level_mm or 0.0)
    rim = on_bench(mould, seat, middle[None])[0]
    c, s = np.cos(np.radians(seat.yaw_deg)), np.sin(np.radians(seat.yaw_deg))
    away = np.array(view.eye_mm) - rim
    eye = np.array([c * away[0] + s * away[1], -s * away[0] + c * away[1], away[2]])
    depths = np.linspace(level, 0.0, 60)[1:]
    share = (level - depths) / (eye[2] + level)
    line = edge[:, None, :2] + share[None, :, None] * (eye[:2] - edge[:, :2])[:, None, :]
    free = free_halves(mould, k, inside, depths.astype(np.float32))
    out = np.hypot(line[..., 0] / free[0], line[..., 1] / free[1])
    return np.asarray(np.all(out <= 1.002, axis=1))


def hand_covers(view: View, mould: SimMould, seat: Seat, hands: tuple[Hand, ...]) -> bool:
    """Whether a hand hides the middle of any of the mould's pour holes."""
    covered = np.zeros((view.lens.height_px, view.lens.width_px, 3), np.uint8)
    for hand in hands:
        draw_hand(covered, view, hand)
    middles = np.array([[*hole.centre_mm, 0.0] for hole in mould.profile.holes])
    flat = np.round(view.project(on_bench(mould, seat, middles))).astype(int)
    inside = [(x, y) for x, y in flat if 0 <= x < view.lens.width_px and 0 <= y < view.lens.height_px]
    return any(bool(covered[y, x].any()) for x, y in inside) if seat.there else False
