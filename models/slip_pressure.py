"""What slip does to a mould of several parts: its push on the joints, and the straps that hold it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from models.constants import GRAVITY_M_S2
from models.doors import number
from models.slip_weight import checked_sg

STRAP_HOLDS_N = 150.0
"""Pull that one rubber band or hand-tightened strap keeps up for a cast (common practice, no source). [N]"""

SAFETY = 2.0
"""Straps are asked for this many times the push (common practice)."""


@dataclass(frozen=True, slots=True)
class StrapNeed:
    """The push on one joint and the straps for it, with the working.

    Attributes
    ----------
    head_mm : float
        Slip above the lowest point of the joint. [mm]
    push_n : float
        Force that opens the joint. [N]
    straps : int
        At least two: one alone lets the mould gape at the other end.
    working : str
        The sum in words.
    """

    head_mm: float
    push_n: float
    straps: int
    working: str


def straps_for(*, depth_mm: float, width_mm: float, sg: float, strap_n: float = STRAP_HOLDS_N) -> StrapNeed:
    """Straps that a mould parted along an upright plane asks for.

    Parameters
    ----------
    depth_mm : float
        Depth of the slip from its surface to the floor, 5 to 2000. [mm]
    width_mm : float
        Mean width of the cavity in the plane of the joint, 5 to 2000. [mm]
    sg : float
        Of the slip.
    strap_n : float
        What one strap holds, a side; it goes round, so it pulls twice. [N]

    Notes
    -----
    Hydrostatics: mean pressure is that at half depth, F = rho g (h/2) (h w). Slip that is poured fast pushes
    a little more; cake that has formed carries some: neither is counted.
    """
    h = number("depth of slip", depth_mm, wanted="mm, 5 to 2000", least=5, most=2000)
    w = number("width at the joint", width_mm, wanted="mm, 5 to 2000", least=5, most=2000)
    density = checked_sg("specific gravity", sg) * 1000.0
    holds = number("pull of a strap", strap_n, wanted="N, 5 to 20000", least=5, most=20000)
    push = density * GRAVITY_M_S2 * (h / 2000.0) * (h / 1000.0) * (w / 1000.0)
    straps = max(2, math.ceil(SAFETY * push / (2.0 * holds)))
    working = (
        f"{density:.0f} kg/m3 x 9.81 x {h / 2:.0f} mm mean head x {h:.0f} x {w:.0f} mm joint = {push:.0f} N; "
        f"{SAFETY:g} times that over 2 x {holds:.0f} N a strap: {straps} straps"
    )
    return StrapNeed(h, push, straps, working)
