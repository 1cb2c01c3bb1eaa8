"""Where a drained mould may keep slip: necks that let no air past, and shelves that lie level upside down."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from models.constants import GRAVITY_M_S2
from models.constants_desk import WATER_G_PER_L
from models.doors import BadValue, number

SURFACE_TENSION_N_M = 0.072
"""Surface tension of water at 25 C. [N/m] Slip has less, so it hangs only in narrower necks."""

_BESSEL_ROOT = 1.8412  # first root of J1', the mode by which liquid leaves an upturned tube [S19]

SHELF_DEG = 12.0
"""A flatter shoulder keeps a puddle when the mould stands upside down (common practice: tilt it)."""


class Trap(StrEnum):
    """Why slip may stay."""

    SHUT = "shut"  # the walls meet: what lies behind is solid or full of slip
    NO_AIR = "no_air"  # so narrow that slip hangs in it: needs a straw or a tube for air
    SHELF = "shelf"  # a shoulder that lies flat when the mould is upside down: tilt while draining


@dataclass(frozen=True, slots=True)
class TrapWarning:
    """One place to watch.

    Attributes
    ----------
    depth_mm : float
        Below the rim. [mm]
    open_mm : float
        Width that the cake leaves there, 0 when shut. [mm]
    trap : Trap
    """

    depth_mm: float
    open_mm: float
    trap: Trap


def hanging_width_mm(sg: float) -> float:
    """Width below which slip hangs in an upturned tube that is shut above, [mm].

    Notes
    -----
    rho g R2/sigma = 1.8412^2, the Rayleigh-Taylor limit [S19]: 7.5 mm for slip of 1.75, 10 mm for water. A
    slip that has gelled hangs in wider ones.
    """
    density = (
        number("specific gravity", sg, wanted="a specific gravity from 1 to 2.5", least=1, most=2.5)
        * WATER_G_PER_L
    )
    radius_m = _BESSEL_ROOT * math.sqrt(SURFACE_TENSION_N_M / (density * GRAVITY_M_S2))
    return 2000.0 * radius_m


def traps(bore: Sequence[tuple[float, float]], *, wall_mm: float, sg: float) -> tuple[TrapWarning, ...]:
    """Places of a drained mould that may keep slip, from its bore alone.

    Parameters
    ----------
    bore : sequence of (depth_mm, diameter_mm)
        At least two rows, depth growing. Handles and spouts are not in it: look at them yourself.
    wall_mm : float
        Wet wall at the tip, 0 to 60. [mm]
    sg : float
        Specific gravity of the slip.

    Returns
    -------
    tuple of TrapWarning
        From the rim down; empty when nothing is in the way. A neck counts only with something wider below.
    """
    wall = number("wall", wall_mm, wanted="the wet wall in mm, 0 to 60", least=0, most=60)
    rows = _rows(bore)
    hangs = hanging_width_mm(sg)
    found = []
    for i, (depth, diameter) in enumerate(rows):
        left = max(diameter - 2.0 * wall, 0.0)
        wider_below = any(d > diameter + 1.0 for _, d in rows[i + 1 :])
        narrowest_here = all(d >= diameter for _, d in rows[max(i - 1, 0) : i + 2])
        if wider_below and narrowest_here and left < hangs:
            found.append(TrapWarning(depth, left, Trap.SHUT if left == 0.0 else Trap.NO_AIR))
    found += _shelves(rows, wall)
    return tuple(sorted(found, key=lambda t: t.depth_mm))


def _shelves(rows: list[tuple[float, float]], wall: float) -> list[TrapWarning]:
    found = []
    for (upper, narrow), (lower, wide) in pairwise(rows):
        widening = (wide - narrow) / 2.0
        if widening > 3.0 and math.degrees(math.atan2(lower - upper, widening)) < SHELF_DEG:
            found.append(TrapWarning(lower, max(wide - 2.0 * wall, 0.0), Trap.SHELF))
    return found


def _rows(bore: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    rows: list[tuple[float, float]] = []
    for i, (depth, diameter) in enumerate(bore, 1):
        number(f"bore row {i} depth", depth, wanted="mm, 0 to 2000", least=0, most=2000)
        number(f"bore row {i} diameter", diameter, wanted="mm, above 0 to 2000", above=0, most=2000)
        if rows and depth <= rows[-1][0]:
            raise BadValue(
                f"bore row {i} depth is {depth:g} mm; give depths that grow, after {rows[-1][0]:g} mm"
            )
        rows.append((depth, diameter))
    if len(rows) < 2:
        raise BadValue(f"bore has {len(rows)} rows; give at least two of depth and diameter in mm")
    return rows
