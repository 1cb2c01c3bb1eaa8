"""Constants of slip desk, room and plaster: each with unit, range and source key (see DEVELOPERS.md)."""

from __future__ import annotations

WATER_G_PER_L = 1000.0
"""What the trade takes a litre of water to weigh. [g/L] Truly 998.2 at 20 C, 996-1000 for 5-30 C [S6]."""

GYPSUM_DENSITY = 2.32
"""Specific gravity of gypsum crystals [S12, from memory: sure]."""

HEMIHYDRATE_BOUND_WATER = 0.1862
"""Water bound per mass of hemihydrate, CaSO4.1/2H2O to CaSO4.2H2O: 1.5*18.015/145.15 [S11, stoichiometry]."""

BODY_DENSITY = 2.6
"""Specific gravity of clay-body solids, range 2.5-2.7 [S1 uses 2.5; common practice]."""

CAKE_MOISTURE = 0.25
"""Water per dry mass of a fresh cake, range 0.20-0.30 (from memory: 18-22 % on the wet basis) [S20]."""

CAKE_MOISTURE_SIGMA = 0.025
"""How far a body's own cake moisture lies from `CAKE_MOISTURE` [S20, from memory]."""

IMPERIAL_PINT_OZ_OF_WATER = 20.0
"""Ounces of water in an imperial pint; exact by the pint's definition, to 0.2 % today [unit definition]."""

US_PINT_ML = 473.176473
"""US liquid pint. [mL] 231 cubic inches / 8 [unit definition]."""

IMPERIAL_PINT_ML = 568.26125
"""Imperial pint. [mL] [unit definition]."""

BAUME_MODULI = (144.0, 144.3, 145.0, 146.78)
"""Moduli in use for degrees Baume of heavy liquids; 145 is the US one [S5]."""

FREE_WATER_HALVING = 0.05
"""Free water, as share of dry plaster, that halves the plaster's absorption rate [S13, "about 50 %"]."""

FREE_WATER_MOST_SHOPS = 0.15
"""Free water to which many shops run [S13]."""

PLASTER_DRY_WARN_C = 45.0
"""Dry moulds below this. [C] 43-49 C is recommended for pottery plaster [S14]."""

PLASTER_DRY_LIMIT_C = 49.0
"""Above this the surface of a mould loses its bound water. [C] [S14]"""

PLASTER_ABSORPTION = 0.38
"""Water that soaked plaster holds over its dry mass: 0.41 at consistency 74, 0.36 at 70 [S10]."""

PLASTER_CONSISTENCY = 0.74
"""Parts of water per part of powder where the caster does not know: 0.66-0.82 in use [S10, S9]."""

SLOWING_PER_FREE_WATER = 6.0
"""Rise of 1/K per unit of free water, relative to the dry mould: a mould 5 % damp takes 1.3 times as long.

Derived: +17 % and +33 % for the second and third cast [S3] at 2.8 % of free water a cast (4 mm wall, 40 mm
plaster); the series law [S27] with 2 mm/min^1/2 [S13] gives +16 % and +39 %. Between moulds guesswork.
"""

SLOWING_SIGMA_LOG = 0.6
"""Spread of the logarithm of `SLOWING_PER_FREE_WATER` between moulds (guess, a factor of 2 either way)."""

DRYING_CRITICAL_FREE_WATER = 0.10
"""Free water below which drying plaster's face is no longer wet (guess; each mould's own factor mends it)."""

DRYING_SIGMA_LOG = 0.7
"""Spread of the logarithm of a mould's own drying factor: the evaporation rule is an order of magnitude."""
