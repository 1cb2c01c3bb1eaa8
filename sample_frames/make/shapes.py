"""Triangles: mould blocks with their hole, turned shapes, clay and slip, boxes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

ROUND = 192


@dataclass(slots=True)
class Mesh:
    """Vertices (n, 3), triangles (m, 3), texture coordinates (n, 2)."""

    points: np.ndarray
    faces: np.ndarray
    uv: np.ndarray

    def moved(self, place, yaw_deg: float = 0.0, turn: np.ndarray | None = None) -> Mesh:
        """Return it turned about z (or by `turn`) and then shifted."""
        c, s = np.cos(np.radians(yaw_deg)), np.sin(np.radians(yaw_deg))
        rot = np.array([[c, -s, 0], [s, c, 0], [0, 0, 1.0]]) if turn is None else turn
        return Mesh(self.points @ rot.T + np.asarray(place, float), self.faces, self.uv)


def grid(rows: np.ndarray, uv: np.ndarray, closed: bool) -> Mesh:
    """Mesh of a (rows, columns, 3) grid; `closed` joins the last column to the first by a copied seam."""
    if closed:
        rows = np.concatenate([rows, rows[:, :1]], axis=1)
    n, m = rows.shape[:2]
    i, j = np.meshgrid(np.arange(n - 1), np.arange(m - 1), indexing="ij")
    a = (i * m + j).ravel()
    quads = np.stack([a, a + 1, a + m + 1, a + m], axis=1)
    faces = np.concatenate([quads[:, [0, 1, 2]], quads[:, [0, 2, 3]]])
    return Mesh(rows.reshape(-1, 3), faces, uv.reshape(-1, 2))


def lathe(profile, wobble: np.ndarray | None = None, segments: int = ROUND) -> Mesh:
    """Turn (radius, z) pairs about z; `wobble` adds to the radius per row and column."""
    profile = np.asarray(profile, float)
    a = np.arange(segments) * 2 * np.pi / segments
    r = profile[:, :1] + (0 if wobble is None else wobble)
    r = np.broadcast_to(r, (len(profile), segments))
    rows = np.stack([r * np.cos(a), r * np.sin(a), np.broadcast_to(profile[:, 1:], r.shape)], axis=2)
    u = np.linspace(0, 1, segments + 1)
    run = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(profile, axis=0).T))])
    uv = np.stack(np.broadcast_arrays(u[None, :], (run / 100.0)[:, None]), axis=2)
    return grid(rows, uv, True)


def outline(half_x: float, half_y: float, corner: float, inset: float):
    """Dense outline of a rounded rectangle drawn in by `inset`: points and outward normals."""
    corner = max(corner, inset + 0.5)
    k = corner - inset
    points, normals = [], []
    for q, (sx, sy) in enumerate([(1, 1), (-1, 1), (-1, -1), (1, -1)]):
        a = np.linspace(0, np.pi / 2, 40) + q * np.pi / 2
        n = np.stack([np.cos(a), np.sin(a)], axis=1)
        c = np.array([sx * (half_x - corner), sy * (half_y - corner)])
        points.append(c + k * n)
        normals.append(n)
    p, n = np.concatenate(points), np.concatenate(normals)
    full_p, full_n = [], []
    for i in range(len(p)):
        j = (i + 1) % len(p)
        parts = max(1, int(np.hypot(*(p[j] - p[i])) / 1.0))
        t = np.arange(parts)[:, None] / parts
        full_p.append(p[i] + t * (p[j] - p[i]))
        full_n.append(n[i] + t * (n[j] - n[i]))
    normal = np.concatenate(full_n)
    return np.concatenate(full_p), normal / np.linalg.norm(normal, axis=1, keepdims=True)


def block(half, height, corner, top_round, hole_xy, wall_radius, rim_round):
    """Outside of a mould, z = 0 at its top, axes through its middle: (top mesh, side mesh)."""
    p, n = outline(half[0], half[1], corner, top_round)
    rel = p - hole_xy
    angle = np.unwrap(np.arctan2(rel[:, 1], rel[:, 0]))
    want = np.linspace(angle[0], angle[0] + 2 * np.pi, ROUND, endpoint=False)
    pick = np.unique(
        np.concatenate([np.searchsorted(angle, want).clip(0, len(p) - 1), np.arange(0, len(p), 6)])
    )
    p, n, angle = p[pick], n[pick], angle[pick]
    ray = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    rows = []
    for t in np.linspace(0, np.pi / 2, 7):
        r = wall_radius + rim_round * (1 - np.cos(t))
        rows.append(np.c_[hole_xy + r * ray, np.full(len(p), -rim_round * (1 - np.sin(t)))])
    ring = hole_xy + (wall_radius + rim_round) * ray
    for t in (0.02, 0.08, 0.25, 0.5, 0.75, 0.92, 0.98, 1.0):
        rows.append(np.c_[ring + t * (p - ring), np.zeros(len(p))])
    for t in np.linspace(0, np.pi / 2, 7)[1:]:
        rows.append(np.c_[p + top_round * np.sin(t) * n, np.full(len(p), -top_round * (1 - np.cos(t)))])
    top = np.stack(rows)
    side = np.stack(
        [np.c_[rows[-1][:, :2], np.full(len(p), z)] for z in np.linspace(-top_round, -height, 12)]
    )
    uv_top = np.concatenate([top, top[:, :1]], axis=1)[..., :2] / 400.0 + 0.5
    run = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(np.r_[side[0], side[0][:1]][:, :2], axis=0).T))])
    uv_side = np.stack(np.broadcast_arrays(run[None, :] / 400.0, -side[:, :1, 2] / 400.0), axis=2)
    return grid(top, uv_top, True), grid(side, uv_side, True)


def band(half, corner, z_top, width, lift=0.8) -> Mesh:
    """Return a strap around the outside."""
    p, n = outline(half[0], half[1], corner, 0.0)
    p, n = p[::3], n[::3]
    shape = [(0.0, 0.0), (lift, -0.8), (lift, -width + 0.8), (0.0, -width)]
    rows = np.stack([np.c_[p + out * n, np.full(len(p), z_top + z)] for out, z in shape])
    uv = np.zeros((len(shape), len(p) + 1, 2))
    return grid(rows, uv, True)


def disc_cap(radius: float, z: float) -> Mesh:
    """Return a flat disc."""
    return lathe([(radius, z), (radius * 0.9, z), (radius / 2, z), (0.01, z)])


def lump(half, height: float, corner: float, top_round: float) -> Mesh:
    """Return a plain block standing on z = 0 with soft upper edges (a mould seen from its closed end)."""
    p, n = outline(half[0], half[1], corner, top_round)
    p, n = p[::3], n[::3]
    rows = [np.c_[t * p, np.full(len(p), height)] for t in (0.001, 0.3, 0.6, 0.9, 0.98, 1.0)]
    for t in np.linspace(0, np.pi / 2, 7)[1:]:
        rows.append(
            np.c_[p + top_round * np.sin(t) * n, np.full(len(p), height - top_round * (1 - np.cos(t)))]
        )
    rows += [np.c_[rows[-1][:, :2], np.full(len(p), z)] for z in np.linspace(height - top_round, 0, 6)[1:]]
    grid_rows = np.stack(rows)
    wide = np.concatenate([grid_rows, grid_rows[:, :1]], axis=1)
    return grid(grid_rows, (wide[..., :2] + wide[..., 2:]) / 400.0 + 0.5, True)


def sheet(centre, half_x: float, half_y: float, yaw_deg: float = 0.0) -> Mesh:
    """Return a flat rectangle facing up with texture from (0, 0) at its lower left to (1, 1)."""
    points = np.array(
        [[-half_x, -half_y, 0], [half_x, -half_y, 0], [half_x, half_y, 0], [-half_x, half_y, 0.0]]
    )
    uv = np.array([[0, 0], [1, 0], [1, 1], [0, 1.0]])
    return Mesh(points, np.array([[0, 1, 2], [0, 2, 3]]), uv).moved(centre, yaw_deg)


def rounded_box(half, radius: float) -> Mesh:
    """Return a box with soft edges (superellipsoid-like ball pushed out to the corners)."""
    n = 48
    th, ph = np.meshgrid(np.linspace(1e-3, np.pi - 1e-3, n), np.arange(2 * n) * np.pi / n, indexing="ij")
    d = np.stack([np.sin(th) * np.cos(ph), np.sin(th) * np.sin(ph), np.cos(th)], axis=2)
    core = np.maximum(np.asarray(half, float) - radius, 0)
    cube = d / np.max(np.abs(d), axis=2, keepdims=True)
    rows = np.clip(cube * (core + radius), -core, core) + radius * d
    uv = np.stack(
        [
            np.linspace(0, 1, 2 * n + 1)[None, :].repeat(n, 0),
            np.linspace(0, 1, n)[:, None].repeat(2 * n + 1, 1),
        ],
        axis=2,
    )
    return grid(rows, uv, True)


def rod(a, b, radius: float) -> Mesh:
    """Return a round stick from a to b."""
    a, b = np.asarray(a, float), np.asarray(b, float)
    length = np.linalg.norm(b - a)
    body = lathe([(0.01, 0), (radius, 0), (radius, length), (0.01, length)], segments=32)
    z = (b - a) / length
    x = np.cross(z, (0.3, 0.2, 1.0) if abs(z[2]) < 0.9 else (1.0, 0, 0))
    x /= np.linalg.norm(x)
    return body.moved(a, turn=np.stack([x, np.cross(z, x), z], axis=1))


def smooth_wave(rng: np.random.Generator, segments: int, size: float, orders: int = 9) -> np.ndarray:
    """Return a closed smooth random wave around the circle."""
    a = np.arange(segments) * 2 * np.pi / segments
    wave = sum(rng.normal() / k**0.7 * np.cos(k * a + rng.uniform(0, 7)) for k in range(1, orders))
    return size * wave / 1.8
