"""Plaster as a store of water: what a mould weighs, holds and how free water dulls its thirst."""

from __future__ import annotations

from dataclasses import dataclass

from models.constants_desk import (
    FREE_WATER_HALVING,
    GYPSUM_DENSITY,
    HEMIHYDRATE_BOUND_WATER,
    PLASTER_ABSORPTION,
)
from models.doors import number

_DRY_DENSITY = 1.08  # g/mL, between 1.06 (consistency 74) and 1.10 (70) [S10]


@dataclass(frozen=True, slots=True)
class PlasterBlock:
    """The plaster of one mould, all its parts together.

    Attributes
    ----------
    dry_kg : float
        Weight when bone dry, straps off. 0.05 to 500. [kg]
    drying_m2 : float
        Face that dries in the room, 0.001 to 50; see `block` for a guess from the weight. [m2]
    """

    dry_kg: float
    drying_m2: float

    def __post_init__(self) -> None:
        _mass("mould's dry weight", self.dry_kg)
        number("drying face", self.drying_m2, wanted="the face in m2, 0.001 to 50", least=1e-3, most=50)

    @property
    def capacity_ml(self) -> float:
        """Water that the soaked plaster holds: 36-41 % of its dry mass [S10], in mL."""
        return 1000.0 * self.dry_kg * PLASTER_ABSORPTION

    def free_water(self, water_ml: float) -> float:
        """Free water over dry mass, for water held in mL."""
        return water_ml / (1000.0 * self.dry_kg)

    def water_ml(self, free_water: float) -> float:
        """Water held at a given free water, in mL."""
        return 1000.0 * self.dry_kg * free_water


def block(dry_kg: float) -> PlasterBlock:
    """Make a mould known by its weight alone: dried on all sides, like a cube of the same plaster.

    A mould of several parts laid open dries faster; its own history teaches that.
    """
    volume_m3 = _mass("mould's dry weight", dry_kg) / (1000.0 * _DRY_DENSITY)
    return PlasterBlock(dry_kg, 6.0 * volume_m3 ** (2.0 / 3.0))


def dry_density_from_wet(wet_density: float, consistency: float) -> float:
    """Density of cast plaster once dry, from its density wet and the water it was mixed with.

    Parameters
    ----------
    wet_density : float
        Of the fresh cast, any unit; 1.2 to 2.4 g/mL or 75 to 150 lb/ft3.
    consistency : float
        Parts of water per part of powder by weight, 0.2 to 1.5.

    Returns
    -------
    float
        In the unit of `wet_density`.

    Notes
    -----
    All water but the bound leaves: wet (1 + 0.1862)/(1 + W) [S11]. Within 1.5 % on six published rows [S10].
    """
    number("wet density", wet_density, wanted="the density of wet plaster, above 0", above=0, most=3000)
    number("consistency", consistency, wanted="water per powder, 0.2 to 1.5", least=0.2, most=1.5)
    return wet_density * (1.0 + HEMIHYDRATE_BOUND_WATER) / (1.0 + consistency)


def pore_capacity(dry_density_g_ml: float) -> float:
    """Water that all pores would hold, over dry mass. Published absorption is about 0.8 of it [S10, S12]."""
    dry = number(
        "dry density",
        dry_density_g_ml,
        wanted="g/mL, 0.5 to below 2.32 (gypsum itself)",
        least=0.5,
        most=2.319,
    )
    return (1.0 - dry / GYPSUM_DENSITY) / dry


def thirst(free_water: float) -> float:
    """Absorption rate of plaster over its rate when dry, for the free water it holds.

    Parameters
    ----------
    free_water : float
        Over dry mass, 0 to 0.6.

    Returns
    -------
    float
        1 when dry, 1/2 at 5 % [S13], falling as 1/(1 + m/0.05). Between and beyond, the shape is ours.
    """
    m = number("free water", free_water, wanted="water over dry plaster, 0 to 0.6", least=0, most=0.6)
    return 1.0 / (1.0 + m / FREE_WATER_HALVING)


def load_kg_m2(wall_mm: float, *, water_per_cake: float) -> float:
    """Water that a wall gives to each square metre of plaster, [kg/m2]: f L, as 1 mm of water is 1 kg/m2."""
    return wall_mm * water_per_cake


def setting_load_kg_m2(
    wall_mm: float, *, cake_solids_fraction: float, solids_sg: float, moisture_from: float, moisture_to: float
) -> float:
    """Water that a wall loses as it stiffens, all of it into the plaster at worst, [kg/m2].

    Notes
    -----
    Dry clay in the wall times the fall of its moisture [S28]: 4 mm, w .25 to .18 gives 0.44 kg/m2. Part of
    it goes into the air instead.
    """
    number(
        "moisture after",
        moisture_to,
        wanted=f"at most the {moisture_from:g} before",
        least=0,
        most=moisture_from,
    )
    return wall_mm * cake_solids_fraction * solids_sg * (moisture_from - moisture_to)


def _mass(field: str, kg: float) -> float:
    return number(field, kg, wanted="the weight in kg, 0.05 to 500", least=0.05, most=500)
