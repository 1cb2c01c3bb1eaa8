"""The ways to a wetted area that a caster has, and how far each can be trusted."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from models.constants import SOLIDS_SPECIFIC_GRAVITY
from models.doors import BadValue, number
from models.ranged import Z80
from models.slip_weight import checked_sg


class Way(StrEnum):
    """How a mould's wetted area became known."""

    CALLIPER = "calliper"  # pour hole and depth only
    WEIGHTS = "weights"  # slip poured in and depth
    BORE_TABLE = "bore_table"  # diameters at several depths
    MESH = "mesh"  # STL of cavity or piece
    CUT_TEST = "cut_test"  # calliper, and one wall measured at a known drop


AREA_REL_SIGMA = {
    Way.CALLIPER: 0.35,
    Way.WEIGHTS: 0.05,
    Way.BORE_TABLE: 0.02,
    Way.MESH: 0.025,
    Way.CUT_TEST: 0.05,
}
"""Relative standard deviation that each way leaves in the wetted area.

Measured on simulated household pots (a test redoes it) and rounded up: calliper and weights as they come,
bore table with 1 mm errors in its diameters, mesh with 1 % doubt in shrinkage, cut test with its wall
to 0.1 mm.
Pots with handles, spouts or facets depart from it; a cut test puts that right.
"""


def in_plain_words(way: Way, wall_mm: float, *, f_rel_sigma: float) -> str:
    """Say what a way leaves open, in millimetres of wall and with the step that helps most.

    Parameters
    ----------
    way : Way
    wall_mm : float
        The wall that is wanted. [mm]
    f_rel_sigma : float
        What is not known of f; a cut test with this slip takes it in, the other ways do not.
    """
    wall = number("wall", wall_mm, wanted="the wall in mm, above 0 to 60", above=0, most=60)
    number("f's spread", f_rel_sigma, wanted="a share, 0 to 1", least=0, most=1)
    sigma = AREA_REL_SIGMA[way] if way is Way.CUT_TEST else math.hypot(AREA_REL_SIGMA[way], f_rel_sigma)
    half = Z80 * wall * sigma
    if way is Way.CUT_TEST:
        return f"walls to about {half:.1f} mm; every further cut test narrows it"
    return f"walls to about {half:.1f} mm until you do one cut test"


@dataclass(frozen=True, slots=True)
class Estimate:
    """A figure with its relative standard deviation; the unit is said where it is made."""

    value: float
    rel_sigma: float


def area_from_calliper(hole_diameter_mm: float, depth_mm: float) -> Estimate:
    """Wetted area in mm2 of a mould of which only the pour hole and the depth are known.

    Notes
    -----
    A cylinder 1.15 times as wide as the hole, floor included: household pots belly out from the hole. The
    factor is ours, from the pots of the test.
    """
    d = 1.15 * _length("pour hole", hole_diameter_mm)
    h = _length("depth", depth_mm)
    return Estimate(math.pi * d * h + math.pi * d * d / 4.0, AREA_REL_SIGMA[Way.CALLIPER])


def area_from_weights(poured_kg: float, sg: float, depth_mm: float) -> Estimate:
    """Wetted area in mm2 from the slip that fills the mould and its depth: wall and floor of a like cylinder.

    Parameters
    ----------
    poured_kg : float
        Slip that filled the mould to the rim, 0.01 to 200. [kg]
    sg : float
        Its specific gravity.
    depth_mm : float
        From rim to floor. [mm]
    """
    volume = _mass("slip poured in", poured_kg) / checked_sg("specific gravity", sg) * 1e6
    h = _length("depth", depth_mm)
    d = math.sqrt(4.0 * volume / (math.pi * h))
    return Estimate(math.pi * d * h + math.pi * d * d / 4.0, AREA_REL_SIGMA[Way.WEIGHTS])


@dataclass(frozen=True, slots=True)
class Weighed:
    """What weights in and out and the drop say of a cast.

    Attributes
    ----------
    cake_ml : Estimate
        Volume of cake that stayed. [mL]
    water_per_cake : Estimate
        f, without any moisture having been weighed.
    """

    cake_ml: Estimate
    water_per_cake: Estimate


def from_weights_in_and_out(
    *,
    poured_kg: float,
    tipped_kg: float,
    sg: float,
    water_ml: float,
    water_sigma_ml: float,
    scale_kg: float = 0.005,
) -> Weighed:
    """Volume of cake and f from slip poured in (top-ups too) and tipped out, and the water that left.

    Parameters
    ----------
    poured_kg, tipped_kg : float
        Slip in and out; drips caught and weighed with what was tipped. [kg]
    sg : float
        Specific gravity of both.
    water_ml, water_sigma_ml : float
        Water given up by the drop of the level, with its standard deviation. [mL]
    scale_kg : float
        Standard deviation of one weighing, what clings to the bucket included. [kg]

    Raises
    ------
    BadValue
        More came out than went in, or less stayed than the water alone.

    Notes
    -----
    Slip in = slip out + cake + water, by volume [S28]; neither moisture nor grain density is needed.
    """
    into, out = _mass("slip poured in", poured_kg), _mass("slip tipped out", tipped_kg)
    density = checked_sg("specific gravity", sg)
    water = number("water given up", water_ml, wanted="mL, 0.1 to 100000", least=0.1, most=1e5)
    water_sigma = number("spread of the water", water_sigma_ml, wanted="mL, above 0", above=0, most=1e5)
    scale = number("scale's spread", scale_kg, wanted="kg, above 0 to 5", above=0, most=5)
    stayed_ml = 1000.0 * (into - out) / density
    cake = stayed_ml - water
    if cake <= 0:
        raise BadValue(
            f"slip tipped out is {out:g} kg of {into:g} kg poured in; that leaves {stayed_ml:.0f} mL, less "
            f"than the {water:.0f} mL of water that left, so weigh both again with all top-ups and drips"
        )
    scale_ml = 1000.0 * math.sqrt(2.0) * scale / density
    cake_sigma = math.hypot(scale_ml, water_sigma)
    # f = W/(stayed - W): d ln f = dW/W (1 + f) - d stayed / cake
    f = water / cake
    f_rel = math.hypot((1.0 + f) * water_sigma / water, scale_ml / cake)
    return Weighed(Estimate(cake, cake_sigma / cake), Estimate(f, f_rel))


def moisture_from_trimmings(wet_g: float, dry_g: float, *, scale_g: float = 0.5) -> Estimate:
    """Cake moisture (water over dry) from trimmings weighed wet, then bone dry.

    Parameters
    ----------
    wet_g, dry_g : float
        Without the dish. [g]
    scale_g : float
        Standard deviation of one weighing. [g]
    """
    wet = number("trimmings wet", wet_g, wanted="g, above 0 to 10000", above=0, most=1e4)
    dry = number(
        "trimmings dry", dry_g, wanted=f"g, above 0 and less than the {wet:g} g wet", above=0, most=wet - 1e-6
    )
    scale = number("scale's spread", scale_g, wanted="g, above 0 to 100", above=0, most=100)
    w = number(
        "moisture",
        wet / dry - 1.0,
        wanted="trimmings that were 10 to 60 % water over dry",
        least=0.1,
        most=0.6,
    )
    sigma = math.hypot(scale / dry, wet * scale / dry**2)
    return Estimate(w, sigma / w)


def f_from_moisture(moisture: Estimate, sg: float, *, solids_sg: float = SOLIDS_SPECIFIC_GRAVITY) -> Estimate:
    """Turn cake moisture into f with the spread it leaves (slip weight to 0.002).

    Notes
    -----
    f = phi_c/phi_s - 1 [S28]; derivatives to w and SG written out.
    """
    density = checked_sg("specific gravity", sg)
    phi_s = (density - 1.0) / (solids_sg - 1.0)
    phi_c = 1.0 / (1.0 + moisture.value * solids_sg)
    f = number(
        "f", phi_c / phi_s - 1.0, wanted="a thinner slip or a drier cake: this slip casts nothing", above=0
    )
    by_w = phi_c**2 * solids_sg * moisture.value * moisture.rel_sigma / phi_s
    by_sg = (phi_c / phi_s) * 0.002 / (density - 1.0)
    return Estimate(f, math.hypot(by_w, by_sg) / f)


def _length(field: str, mm: float) -> float:
    return number(field, mm, wanted="mm, 4 to 2000", least=4, most=2000)


def _mass(field: str, kg: float) -> float:
    return number(field, kg, wanted="kg, 0.001 to 500", least=0.001, most=500)
