"""What is in a pour hole, judged from its colour and light against the plaster around it."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from watcher.records.readings import Contents
from watcher.vision.middle import middle_of_columns
from watcher.vision.strip import TO_COLOURS

Floats = npt.NDArray[np.float32]
Bools = npt.NDArray[np.bool_]

LUMA_STEP = 12.0
CHROMA_STEP = 6.0
"""Change of the hole's inside, in hundredths of the ring's brightness, that light alone does not make."""
CLAY_COLOUR = 8.0
"""Colour against the plaster's beside it from which there is clay in the hole (film or slip)."""
WHITE_LUMA = 93.0
"""A bare cavity is never nearly as bright as the plaster around it; a pale slip near the rim is."""
SURE_GAIN = 25.0
CHANGED = 1.0
HALF_CHANGED = 0.4
RIM_REACH_PX = 2.6


def inside_look(profiles: Floats, ring_bgr: npt.NDArray[np.float64]) -> Floats:
    """Profiles (J, S, 3) in hundredths of what the plaster around the hole shows, colour by colour.

    Light that is dimmed or tinted falls on both alike and multiplies both. Colours taken as differences made
    the dark of a hole change with the tint of a lamp as if slip had been poured in.
    """
    return np.asarray(profiles @ _relit(100.0 / np.maximum(ring_bgr, 1.0)), dtype=np.float32)


def in_grey_levels(look: Floats, ring_bgr: npt.NDArray[np.float64]) -> Floats:
    """Undo `inside_look`: what a look is in this light. [grey levels]."""
    return np.asarray(look @ _relit(np.maximum(ring_bgr, 1.0) / 100.0), dtype=np.float32)


def _relit(gain_bgr: npt.NDArray[np.float64]) -> Floats:
    """Return the matrix (3, 3) that multiplies blue, green and red in profiles of luma and two colours."""
    there = TO_COLOURS.astype(np.float64)
    return np.asarray(np.linalg.inv(there) @ np.diag(gain_bgr) @ there, dtype=np.float32)


def low_look(look: Floats, shown: Bools) -> npt.NDArray[np.float64] | None:
    """Mean look (3,) of the deepest quarter of the visible wall; None if hardly any is seen."""
    values = []
    sectors = look.shape[1]
    for s in range(sectors // 4, sectors - sectors // 4):
        rows = np.flatnonzero(shown[:, s])
        if rows.size >= 6:
            values.append(look[rows[-max(4, rows.size // 4) :], s].mean(axis=0))
    return np.mean(values, axis=0).astype(np.float64) if values else None


def first_judgement(look: Floats, shown: Bools, gain: float) -> Contents:
    """Judge a hole that was never seen before; in doubt it is bare, as moulds are when a bench is set up."""
    low = low_look(look, shown)
    if low is None:
        return Contents.UNKNOWN
    coloured = float(np.hypot(low[1], low[2])) > CLAY_COLOUR
    if (coloured or low[0] > WHITE_LUMA) and gain > SURE_GAIN:
        return Contents.SLIP
    return Contents.UNKNOWN if coloured else Contents.EMPTY


def came_in(changed: float, new_edge: Callable[[], float]) -> bool:
    """Tell whether slip came into a hole: it looks different, or somewhat so and with an edge that is new."""
    return changed > CHANGED or (changed > HALF_CHANGED and new_edge() > SURE_GAIN)


def change(look: Floats, before: Floats, shown: Bools) -> float:
    """How differently the deeper two thirds of the hole look from before; 1 is what light alone cannot do."""
    first = shown.shape[0] // 4
    in_view = np.flatnonzero(shown[first:])
    if in_view.size < 8 or look.shape != before.shape:
        return 0.0
    moved = np.abs(look[first:] - before[first:]).reshape(-1, look.shape[2])
    away = middle_of_columns(moved.take(in_view, axis=0))
    return float(np.hypot(away[0] / LUMA_STEP, np.hypot(away[1], away[2]) / CHROMA_STEP))


def rim_mark(look: Floats, px_per_row: float) -> Floats:
    """Return what the rim adds to the empty wall right below it: its first rows less the wall under them."""
    near = max(2, round(RIM_REACH_PX / px_per_row))
    wall = look[near : 2 * near].mean(axis=0, keepdims=True)
    slope = (look[near + near // 2 : 2 * near].mean(axis=0) - look[near : near + near // 2].mean(axis=0)) / (
        near / 2
    )
    rows = np.arange(look.shape[0], dtype=np.float32)[:, None, None]
    mark = look - wall - 0.5 * slope[None] * (rows - 1.5 * near)
    mark[near:] = 0.0
    return np.asarray(mark, dtype=np.float32)
