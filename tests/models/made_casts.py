"""Casts for the tests of the fit, integrated here: own slices, own steps, the ideal law unless told else.

Nothing of the package computes them; noise comes from a seeded generator that the test hands in.
"""

import math

import numpy as np

JUG = ((0.0, 62.0), (20.0, 54.0), (30.0, 49.0), (60.0, 76.0), (84.0, 81.0), (104.0, 70.0), (112.0, 56.0))
JUG_NECK = 30.0


def run_cast(
    bore, neck, *, f, k, level, pour_s, seconds, skin=0.0, bend=0.0, leak_mm_per_s=0.0, top_ups=(), dt=0.5
):
    """Seconds from full, level and mean wall below the neck (floor included), step by step of dt.

    Every place has its own clock; L^2 + skin L + bend L^4 / 2 = K t. Floor and wall each grow a whole cake.
    """
    n = 400
    edges = np.linspace(0.0, bore[-1][0], n + 1)
    z, dz = 0.5 * (edges[1:] + edges[:-1]), edges[1]
    r = np.interp(z, [row[0] for row in bore], [row[1] / 2.0 for row in bore])
    lean = np.hypot(1.0, np.gradient(r, dz))
    area = np.append(2 * math.pi * r * lean * dz, math.pi * (bore[-1][1] / 2.0) ** 2)
    piece = np.append(z >= neck, True) * area
    volume = np.cumsum((r**2)[::-1])[::-1]
    volume = volume / volume[z >= level][0]
    clock = np.append(np.where(z >= level, pour_s * (1.0 - np.minimum(volume, 1.0)), 0.0), pour_s)
    # wetted when the pour has filled what lies below: the share of the pour that is over by then
    goal = np.linspace(0.0, 16.0, 4001)
    time_of = (goal**2 + skin * goal + 0.5 * bend * goal**4) / (k / 60.0)

    def wall_of(seconds_under):
        return np.interp(seconds_under, time_of, goal)

    wall = wall_of(clock)
    rows, waiting = [], list(top_ups)
    for step in range(int(seconds / dt) + 1):
        now = step * dt
        rows.append((now, level, float((wall * piece).sum() / piece.sum())))
        if waiting and now >= waiting[0][0]:
            level = waiting.pop(0)[1]
        wet = np.append(np.clip((z - level) / dz + 0.5, 0.0, 1.0), 1.0)
        clock = clock + wet * dt
        grown = wall_of(clock)
        ring0, ring1 = wall[:-1] * lean, grown[:-1] * lean
        cake = math.pi * dz * float(((r - ring0) ** 2 - (r - ring1) ** 2).sum())
        cake += area[-1] * float(grown[-1] - wall[-1])
        wall = grown
        i = int(min(max(level / dz - 0.5, 0), n - 1))
        level += f * cake / (math.pi * (float(np.interp(level, z, r)) - ring1[i]) ** 2) + leak_mm_per_s * dt
    return np.array(rows).T
