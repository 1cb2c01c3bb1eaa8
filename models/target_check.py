"""Can this mould give that wall today: does the hole shut first, how often to top up, is it dry enough."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from models.balance import Sinking, sink
from models.cavity import Cavity, cut
from models.doors import number
from models.mould import MouldProfile
from models.plaster import PlasterBlock
from models.slip import Slip

Array = npt.NDArray[np.float64]

FILLED_TO_MM = 4.0
"""Where casters stop pouring, below the rim (common practice, no source). [mm]"""

MOST_TOP_UPS = 12

_NARROW_SHARE = 0.9  # of the wall at which the hole shuts: from there on it is a warning, not a refusal


@dataclass(frozen=True, slots=True)
class TargetCheck:
    """What a wanted wall asks of a mould.

    Attributes
    ----------
    reachable : bool
        The wall can be had with the top-ups said.
    water_ml : float
        Water that the plaster must take. [mL]
    drop_mm : float
        How far the level sinks in all, over top-ups. [mm]
    top_up_at : tuple of float
        Shares of the casting time at which the level has sunk to the neck, so that a top-up is due.
    shut_wall_mm : float or None
        Mean wall at which the ring of cake shuts the pour hole; None: not before the wanted wall.
    warnings : tuple of str
        One sentence each.
    """

    reachable: bool
    water_ml: float
    drop_mm: float
    top_up_at: tuple[float, ...]
    shut_wall_mm: float | None
    warnings: tuple[str, ...]


def check_target(
    mould: MouldProfile,
    slip: Slip,
    wall_mm: float,
    *,
    plaster: PlasterBlock | None = None,
    held_ml: float = 0.0,
    dampest: float = 0.15,
    filled_to_mm: float = FILLED_TO_MM,
) -> TargetCheck:
    """Check a wanted wall against the hole's width, the level's fall and the plaster's room for water.

    Parameters
    ----------
    mould : MouldProfile
    slip : Slip
    wall_mm : float
        Wet mean wall, 0.3 to 40. [mm]
    plaster : PlasterBlock, optional
        Where known, its room for water is checked.
    held_ml : float
        Water in it already. [mL]
    dampest : float
        Free water that the caster allows; many shops run to 0.15 [S13].
    filled_to_mm : float
        Level after filling and topping up, below the rim. [mm]

    Notes
    -----
    Volume balance [S28], no time in it: shares of the casting time are those of L2 = K t [S26]. Topped up
    whenever the level has sunk to the neck; a hole that shuts cannot be topped up any more [S30].
    """
    wall = number("wanted wall", wall_mm, wanted="the wet wall in mm, 0.3 to 40", least=0.3, most=40)
    number("water in the mould", held_ml, wanted="mL, 0 to 1e6", least=0, most=1e6)
    number("dampest", dampest, wanted="free water over dry plaster, above 0 to 0.4", above=0, most=0.4)
    top = number(
        "filled to", filled_to_mm, wanted="mm below the rim, 0 to the neck", least=0, most=mould.neck_mm
    )
    cavity = cut(mould)
    legs = _fill_and_top_up(cavity, slip.water_per_cake, wall, top)
    reached = float(np.interp(wall, legs[-1][0].wall_mm, legs[-1][0].growth_mm2)) + legs[-1][1]
    shut = _shut_wall(legs[-1][0], wall)
    cake_ml = float(np.interp(min(wall, shut or wall), legs[-1][0].wall_mm, legs[-1][0].cake_mm3)) / 1000.0
    water_ml = slip.water_per_cake * cake_ml
    top_up_at = tuple(begun / reached for _, begun in legs[1:])
    drop = sum(float(_level_at(run, wall)) - float(run.level_mm[0]) for run, _ in legs)
    warnings = _warnings(mould, wall, shut, len(top_up_at))
    room_short = None
    if plaster is not None:
        room_short = water_ml - (plaster.water_ml(dampest) - held_ml)
        if room_short > 0:
            warnings.append(
                f"{mould.name}: {wall:g} mm gives {water_ml:.0f} mL of water, {room_short:.0f} mL more than "
                f"it may take before it is {100 * dampest:.0f} % damp; let it dry first"
            )
    reachable = shut is None and len(top_up_at) < MOST_TOP_UPS and (room_short is None or room_short <= 0)
    return TargetCheck(reachable, water_ml, drop, top_up_at, shut, tuple(warnings))


def _fill_and_top_up(cavity: Cavity, f: float, wall: float, top_mm: float) -> list[tuple[Sinking, float]]:
    """Run fillings until the wall is there or the hole is shut; each with the growth at which it began."""
    clocks: Array = np.zeros(len(cavity.depths_mm))
    begun = 0.0
    legs: list[tuple[Sinking, float]] = []
    for _ in range(MOST_TOP_UPS + 1):
        run = sink(cavity, level_mm=top_mm, clocks_mm2=clocks, water_per_cake=f, most_mm2=1.6 * wall**2)
        legs.append((run, begun))
        at_neck = float(np.interp(cavity.neck_mm, run.level_mm, run.growth_mm2, right=math.inf))
        there = float(np.interp(wall, run.wall_mm, run.growth_mm2, right=math.inf))
        if math.isinf(at_neck) or at_neck >= min(there, run.shut_mm2) or at_neck <= 0.0:
            break
        clocks = run.clocks_at(at_neck)
        begun += at_neck
    return legs


def _shut_wall(run: Sinking, wall: float) -> float | None:
    """Mean wall at which the hole shuts; None if the wanted wall comes first."""
    if math.isinf(run.shut_mm2):
        return None
    at = float(np.interp(run.shut_mm2, run.growth_mm2, run.wall_mm))
    return at if at < wall else None


def _level_at(run: Sinking, wall: float) -> float:
    """Level where this filling ends: at the wanted wall, or at the last row."""
    return float(np.interp(wall, run.wall_mm, run.level_mm))


def _warnings(mould: MouldProfile, wall: float, shut: float | None, top_ups: int) -> list[str]:
    said = []
    narrowest = min(d for z, d in mould.bore if z <= mould.neck_mm)
    if shut is not None:
        said.append(
            f"{mould.name}: the pour hole freezes shut at a wall of about {shut:.1f} mm, before {wall:g} mm; "
            "aim thinner, or widen the spare"
        )
    elif 2.0 * wall > _NARROW_SHARE * narrowest:
        said.append(
            f"{mould.name}: at {wall:g} mm the {narrowest:g} mm hole is nearly shut; it needs air to drain"
        )
    if top_ups >= MOST_TOP_UPS:
        said.append(f"{mould.name}: over {MOST_TOP_UPS} top-ups for {wall:g} mm; feed it by a funnel")
    elif top_ups:
        times = "once" if top_ups == 1 else f"{top_ups} times"
        said.append(f"{mould.name}: the level sinks out of the spare before {wall:g} mm; top up {times}")
    return said
