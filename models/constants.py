"""Constants of casting: each with unit, range and source key (the keys are listed in DEVELOPERS.md)."""

from __future__ import annotations

WATER_SPECIFIC_GRAVITY = 1.0
"""The trade takes water as 1000 g/L; truly 0.9982 of that at 20 C, 0.996 to 1.000 for 5-30 C [S6]."""

GRAVITY_M_S2 = 9.81
"""Fall of the earth, 9.78 to 9.83 from the equator to the poles [m/s2] (common practice)."""

SOLIDS_SPECIFIC_GRAVITY = 2.6
"""Grains of clay bodies, range 2.5 to 2.7 (common practice; the worked examples of [S1] use 2.5)."""

K_LOW_MM2_PER_MIN = 0.5
K_HIGH_MM2_PER_MIN = 5.3
"""Band of L^2/t over studios, slips and moulds: slow hobby earthenware [S24], fast terracotta [S3]."""

LOG_K_MEAN = 0.05
LOG_K_SD = 0.61
"""ln K (mm2/min) over studios: ten trade sources, one vote each, K 0.51 to 3.8, middle 1.05 [S3, S24, S36].

Where a source gives a wall and a time: K = L^2/t, geometric means over its moulds. Where it gives times alone
the wall is taken as 3 mm for porcelain ware, 2.5 mm for bone china and 4 mm for the rest [S35]: a guess.
"""
