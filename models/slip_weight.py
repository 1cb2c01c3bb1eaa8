"""Specific gravity from what a caster can weigh or float: litre weight, pint weight, Twaddell, Baume."""

from __future__ import annotations

from enum import StrEnum

from models.constants_desk import (
    BAUME_MODULI,
    IMPERIAL_PINT_OZ_OF_WATER,
    US_PINT_ML,
    WATER_G_PER_L,
)
from models.doors import BadValue, number

LEAST_SG = 1.0
MOST_SG = 2.5


class SlipMeasure(StrEnum):
    """The ways in which a caster states how heavy a slip is."""

    SPECIFIC_GRAVITY = "specific_gravity"
    LITRE_G = "litre_g"
    IMPERIAL_PINT_OZ = "imperial_pint_oz"
    US_PINT_G = "us_pint_g"
    TWADDELL_DEG = "twaddell_deg"
    BAUME_DEG = "baume_deg"


def specific_gravity(measure: SlipMeasure, reading: float, *, baume_modulus: float | None = None) -> float:
    """Specific gravity of a slip, whichever way it was measured.

    Parameters
    ----------
    measure : SlipMeasure
        What `reading` is: a specific gravity, grams per litre, ounces per imperial pint, grams per US pint,
        degrees Twaddell or degrees Baume (heavy).
    reading : float
        Must give a specific gravity from 1 to 2.5.
    baume_modulus : float, optional
        Asked for with Baume only, because several are in use: 145 (US), 144, 144.3 or 146.78.

    Returns
    -------
    float
        Specific gravity, water taken as 1000 g/L.

    Raises
    ------
    BadValue
        The reading is no number, or outside what a slip can weigh; or the Baume modulus is missing.

    Notes
    -----
    SG = litre weight/1000 = oz per imperial pint/20 = g per US pint/473.18 [unit definitions];
    1 + 0.005 Tw [S4]; m/(m - Be) [S5].
    """
    least, most = _span(measure, baume_modulus)
    wanted = f"a {measure.value} from {least:.6g} to {most:.6g} (a specific gravity from 1 to 2.5)"
    given = number(measure.value, reading, wanted=wanted, least=least, most=most)
    return _to_sg(measure, given, baume_modulus)


def in_measure(measure: SlipMeasure, sg: float, *, baume_modulus: float | None = None) -> float:
    """Give the reading that a slip of specific gravity `sg` shows in another measure."""
    sg = checked_sg("specific gravity", sg)
    match measure:
        case SlipMeasure.SPECIFIC_GRAVITY:
            return sg
        case SlipMeasure.LITRE_G:
            return sg * WATER_G_PER_L
        case SlipMeasure.IMPERIAL_PINT_OZ:
            return sg * IMPERIAL_PINT_OZ_OF_WATER
        case SlipMeasure.US_PINT_G:
            return sg * US_PINT_ML * WATER_G_PER_L / 1000.0
        case SlipMeasure.TWADDELL_DEG:
            return (sg - 1.0) / 0.005
        case SlipMeasure.BAUME_DEG:
            modulus = _modulus(baume_modulus)
            return modulus - modulus / sg


def checked_sg(field: str, sg: float) -> float:
    """Return a slip's specific gravity, or refuse what is no slip (1 to 2.5)."""
    return number(field, sg, wanted="a specific gravity from 1 to 2.5", least=LEAST_SG, most=MOST_SG)


def _span(measure: SlipMeasure, modulus: float | None) -> tuple[float, float]:
    return (
        in_measure(measure, LEAST_SG, baume_modulus=modulus),
        in_measure(measure, MOST_SG, baume_modulus=modulus),
    )


def _to_sg(measure: SlipMeasure, reading: float, baume_modulus: float | None) -> float:
    match measure:
        case SlipMeasure.SPECIFIC_GRAVITY:
            return reading
        case SlipMeasure.LITRE_G:
            return reading / WATER_G_PER_L
        case SlipMeasure.IMPERIAL_PINT_OZ:
            return reading / IMPERIAL_PINT_OZ_OF_WATER
        case SlipMeasure.US_PINT_G:
            return reading / (US_PINT_ML * WATER_G_PER_L / 1000.0)
        case SlipMeasure.TWADDELL_DEG:
            return 1.0 + 0.005 * reading
        case SlipMeasure.BAUME_DEG:
            modulus = _modulus(baume_modulus)
            return modulus / (modulus - reading)


def _modulus(given: float | None) -> float:
    listed = ", ".join(f"{m:g}" for m in BAUME_MODULI)
    if given not in BAUME_MODULI:
        raise BadValue(
            f"baume_modulus is {given}; give the one printed on the hydrometer: {listed} (145 is US)"
        )
    return float(given)
