"""A level that sinks as the volume balance wants it, worked out by plain steps in time.

Independent of the code under test: a straight round bore of radius R and depth H, root-time growth
L = sqrt(K t), and
the liquid's surface falling by what the cake takes up, f times its volume.
"""

from __future__ import annotations

import math


def sinking_level(
    *,
    radius_mm: float,
    depth_mm: float,
    k_mm2_per_min: float,
    water_per_cake: float,
    full_mm: float,
    seconds: int,
    poured_s: float = 0.0,
) -> list[float]:
    """Level below the rim for every second after the mould was full. [mm]

    `poured_s` is how long, when it was full, the slip had stood against the plaster already.
    """
    levels, level = [], full_mm
    for second in range(seconds):
        levels.append(level)
        cake, grown = (math.sqrt(k_mm2_per_min * (poured_s + second + step) / 60.0) for step in (0, 1))
        free = math.pi * (radius_mm - cake) ** 2
        wall = math.pi * ((radius_mm - cake) ** 2 - (radius_mm - grown) ** 2) * (depth_mm - level - cake)
        floor = free * (grown - cake)
        level += water_per_cake * (wall + floor) / free
    return levels


def wall_mm(k_mm2_per_min: float, seconds: float) -> float:
    """Wall after so many seconds: L = sqrt(K t). [mm]"""
    return math.sqrt(k_mm2_per_min * seconds / 60.0)
