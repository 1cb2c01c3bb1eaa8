"""Constants of casting: each with unit, range and source key (the keys are listed in DEVELOPERS.md)."""

from __future__ import annotations

WATER_SPECIFIC_GRAVITY = 1.0
"""The trade takes water as 1000 g/L; truly 0.9982 of that at 20 C, 0.996 to 1.000 for 5-30 C [S6]."""

SOLIDS_SPECIFIC_GRAVITY = 2.6
"""Grains of clay bodies, range 2.5 to 2.7 (common practice; the worked examples of [S1] use 2.5)."""

K_LOW_MM2_PER_MIN = 0.5
K_HIGH_MM2_PER_MIN = 5.3
"""Band of L^2/t over studios, slips and moulds: slow hobby earthenware [S24], fast terracotta [S3]."""
