"""Clay in a pour hole: the cake left on the wall above the slip, and the slip with its meniscus."""

from __future__ import annotations

import numpy as np
import shapes as sh
from casting import CELL_MM, Moment
from story import Clay, MouldPart


def film_profile(part: MouldPart, moment: Moment):
    """Depths (every 0.25 mm) and radius of the clay's surface there."""
    z = np.arange(len(moment.cake_mm)) * CELL_MM + CELL_MM / 2
    r = part.cavity.radius(z)
    sec = np.minimum(np.sqrt(1 + np.gradient(r, CELL_MM) ** 2), 2.0)
    return z, r - np.maximum(moment.cake_mm, 0.12) * sec


def clay_meshes(part: MouldPart, moment: Moment, clay: Clay) -> list[tuple[sh.Mesh, str]]:
    """Meshes about the rim's centre, with what they are made of (film or slip)."""
    z, free = film_profile(part, moment)
    rng = np.random.default_rng(part.seed + 11)
    wave = sh.smooth_wave(rng, sh.ROUND, 0.18)
    ripple = sh.smooth_wave(rng, sh.ROUND, 0.03, 24)
    out = []
    standing = moment.level_mm is not None
    bottom = moment.level_mm if standing else part.cavity.floor_mm - 1.5
    mark = moment.mark_mm - (clay.rise_mm if standing else 0.8) + 0.15
    if moment.phase == "filling":
        mark = bottom - clay.rise_mm
    depths = np.arange(mark, bottom + 4.0, 0.5)
    lip = np.clip((depths - mark) / 0.7, 0, 1)
    bare = part.cavity.radius(depths)
    skin = np.interp(depths, z, free)
    radius = bare + 0.05 - lip * (bare + 0.05 - skin)
    if moment.phase != "filling":
        film = sh.lathe(np.c_[radius, -depths], wobble=ripple[None, :] * lip[:, None])
        edge = np.exp(-((depths - mark) / 1.5))[:, None] * wave[None, :]
        film.points[:, 2] += np.concatenate([edge, edge[:, :1]], axis=1).ravel()
        out.append((film, "film"))
    if standing:
        out.append((slip_surface(moment, free, z, clay, ripple), "slip"))
    else:
        end = float(np.interp(bottom, z, free))
        out.append((sh.disc_cap(end + 0.3, -bottom), "film"))
    return out


def slip_surface(moment: Moment, free: np.ndarray, z: np.ndarray, clay: Clay, ripple: np.ndarray) -> sh.Mesh:
    """Return the slip, flat in the middle, drawn up at the wall; its edge is sunk 0.05 mm into the cake."""
    level = moment.level_mm
    edge = float(np.interp(level, z, free))
    inner = np.concatenate(
        [np.linspace(0, min(8, edge * 0.7), 24), np.linspace(min(8, edge * 0.7), edge, 8)[1:]]
    )
    rows = []
    for back in inner:
        rise = clay.rise_mm * np.exp(-back / clay.rise_reach_mm)
        rows.append((max(edge - back, 0.01) + (0.05 if back == 0 else 0.0), -(level - rise)))
    fade = np.exp(-inner / 1.0)[:, None]
    return sh.lathe(rows, wobble=ripple[None, :] * fade)
