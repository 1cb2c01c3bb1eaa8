"""What stands against the water on its way: cake and plaster in series, plaster that fills up, warmth."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from models.constants_desk import FREE_WATER_HALVING, PLASTER_ABSORPTION
from models.doors import number
from models.growth import Growth
from models.water import speed_ratio

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class PlasterBehind:
    """The plaster behind one piece of wall, which drinks from one side.

    Attributes
    ----------
    sorptivity_mm_per_sqrt_min : float
        S when dry: volume drunk per area and root of time, 0.3 to 6. [mm/min^0.5]
    thickness_mm : float
        Plaster from the wall to its far side, or to where the water of another wall comes. [mm]
    dry_g_per_ml : float
        Density of the dry plaster, 0.9 to 1.6.
    free_water : float
        Water in it over its dry mass when the cast begins.
    """

    sorptivity_mm_per_sqrt_min: float
    thickness_mm: float
    dry_g_per_ml: float = 1.08
    free_water: float = 0.0

    def free_water_after(self, drunk_mm: Array | float) -> Array:
        """Free water, spread evenly, once so many mm of water (volume per area) have been drunk."""
        return np.asarray(self.free_water + np.asarray(drunk_mm) / (self.thickness_mm * self.dry_g_per_ml))

    @property
    def room_mm(self) -> float:
        """Water that it can still drink, in mm: soaked plaster holds about 0.38 of its dry mass [S10]."""
        return (PLASTER_ABSORPTION - self.free_water) * self.thickness_mm * self.dry_g_per_ml


def checked_plaster(
    *,
    sorptivity_mm_per_sqrt_min: float,
    thickness_mm: float,
    dry_g_per_ml: float = 1.08,
    free_water: float = 0.0,
) -> PlasterBehind:
    """Return the plaster, or raise BadValue with one sentence on the first value that cannot be right."""
    return PlasterBehind(
        number(
            "sorptivity_mm_per_sqrt_min",
            sorptivity_mm_per_sqrt_min,
            wanted="S in mm/min^0.5, 0.3 to 6",
            least=0.3,
            most=6.0,
        ),
        number(
            "thickness_mm", thickness_mm, wanted="the plaster's thickness, 5 to 500 mm", least=5, most=500
        ),
        number("dry_g_per_ml", dry_g_per_ml, wanted="dry plaster, 0.9 to 1.6 g/mL", least=0.9, most=1.6),
        number("free_water", free_water, wanted="water over dry plaster, 0 to 0.37", least=0.0, most=0.37),
    )


def in_series(
    k_cake_mm2_per_min: float, *, water_per_cake: float, sorptivity_mm_per_sqrt_min: float
) -> float:
    """K of cake and plaster together, 1/K = 1/Kc + f^2/S^2, in mm2/min [S27].

    Two layers that grow in step, by Darcy's law: constant suction, incompressible cake, flat wall.
    """
    plaster = (water_per_cake / sorptivity_mm_per_sqrt_min) ** 2
    return 1.0 / (1.0 / k_cake_mm2_per_min + plaster)


def warmed(k_mm2_per_min: float, *, from_c: float, to_c: float) -> float:
    """K at another temperature of slip and mould: it goes with one over the viscosity of water [S6]."""
    return k_mm2_per_min * speed_ratio(from_c, to_c)


def minutes_for_wall(
    wall_mm: Array | float, plaster: PlasterBehind, *, k_cake_mm2_per_min: float, water_per_cake: float
) -> Array:
    """Time that a wall takes on plaster that fills up while it drinks.

    Parameters
    ----------
    wall_mm : array_like, shape (n,)
        Wall wanted. [mm]
    plaster : PlasterBehind
    k_cake_mm2_per_min : float
        Kc, of the cake alone. [mm2/min]
    water_per_cake : float
        f.

    Returns
    -------
    ndarray, shape (n,)
        Time; infinite where the plaster is soaked before. [min]

    Notes
    -----
    dt/dL = 2 L (1/Kc + f^2/S^2 (1 + m/0.05)^2): S falls as the absorption rate does, by half at 5 % free
    water [S13, shape ours], m = m0 + f L / (thickness x density). Integrated in closed form. In dry plaster
    without end it is L^2 = K t with K of `in_series`.
    """
    wall = np.asarray(wall_mm, dtype=np.float64)
    share, start, rise = _plaster_terms(plaster, water_per_cake)
    drive = start**2 * wall**2 + (4.0 / 3.0) * start * rise * wall**3 + 0.5 * rise**2 * wall**4
    minutes = wall**2 / k_cake_mm2_per_min + share * drive
    return np.where(water_per_cake * wall <= plaster.room_mm, minutes, np.inf)


def growth_on(
    plaster: PlasterBehind, *, k_cake_mm2_per_min: float, water_per_cake: float, skin_mm: float = 0.0
) -> Growth:
    """Growth law, as the fit uses it, of cake on this plaster: the same times as `minutes_for_wall`."""
    share, start, rise = _plaster_terms(plaster, water_per_cake)
    k = 1.0 / (1.0 / k_cake_mm2_per_min + share * start**2)
    return Growth(k / 60.0, skin_mm, k * share * rise**2, 2.0 * k * share * start * rise)


def _plaster_terms(plaster: PlasterBehind, water_per_cake: float) -> tuple[float, float, float]:
    """f^2/S^2 [min/mm2], then 1 + m/0.05 at the start and its rise per mm of wall."""
    share = (water_per_cake / plaster.sorptivity_mm_per_sqrt_min) ** 2
    start = 1.0 + plaster.free_water / FREE_WATER_HALVING
    rise = water_per_cake / (plaster.thickness_mm * plaster.dry_g_per_ml) / FREE_WATER_HALVING
    return share, start, rise
