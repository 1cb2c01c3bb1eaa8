"""Light through a real lens: rays for any set of pixels, and their mean radiance (Mitsuba 3)."""

from __future__ import annotations

import drjit as dr
import mitsuba as mi
import numpy as np
from optics import Lens, Pose

BRIGHTEST = 12.0  # one path's light is capped here, against lone bright dots


def lens_rays(lens: Lens, pose: Pose, x, y) -> mi.RayDifferential3f:
    """Rays through picture points (float pixel coordinates), distortion undone by fixed-point steps."""
    k1, k2, p1, p2, k3 = lens.distortion
    xd, yd = (x - lens.cx) / lens.f, (y - lens.cy) / lens.f
    u, v = mi.Float(xd), mi.Float(yd)
    for _ in range(12):
        r2 = u * u + v * v
        radial = 1 + r2 * (k1 + r2 * (k2 + r2 * k3))
        dx = 2 * p1 * u * v + p2 * (r2 + 2 * u * u)
        dy = p1 * (r2 + 2 * v * v) + 2 * p2 * u * v
        u, v = (xd - dx) / radial, (yd - dy) / radial
    right, down, ahead = (mi.Vector3f(*row) for row in pose.turn)
    direction = dr.normalize(u * right + v * down + ahead)
    return mi.RayDifferential3f(o=mi.Point3f(*pose.eye), d=direction)


def shoot(
    scene,
    lens: Lens,
    pose: Pose,
    pixels: np.ndarray,
    spp: int,
    blur_px: float,
    seed: int,
    most: int = 1 << 26,
) -> np.ndarray:
    """Mean radiance (n, 3) of the pixels given as flat indices (row * width + column)."""
    integrator = mi.load_dict({"type": "path", "max_depth": 9, "rr_depth": 6})
    n = len(pixels)
    total = np.zeros((n, 3), np.float64)
    done = 0
    while done < spp:
        part = max(1, min(spp - done, most // n))
        sampler = mi.load_dict({"type": "independent"})
        sampler.seed(mi.UInt32((seed * 1000 + done) % (1 << 31)), n * part)
        index = dr.arange(mi.UInt32, n * part) // part
        flat = dr.gather(mi.UInt32, mi.UInt32(pixels.astype(np.uint32)), index)
        spread = mi.warp.square_to_std_normal(sampler.next_2d())
        inside = sampler.next_2d()
        x = mi.Float(flat % lens.width) + inside.x - 0.5 + blur_px * spread.x
        y = mi.Float(flat // lens.width) + inside.y - 0.5 + blur_px * spread.y
        light, _, _ = integrator.sample(scene, sampler, lens_rays(lens, pose, x, y))
        light = mi.Color3f(light)
        light = dr.select(dr.isfinite(light), dr.minimum(light, BRIGHTEST), 0)
        sums = [dr.block_sum(channel, part) for channel in (light.x, light.y, light.z)]
        dr.eval(*sums)
        total += np.stack([np.array(s) for s in sums], axis=1)
        done += part
    return (total / spp).astype(np.float32)
