"""Starting values for the caster's own list of walls, by what a piece is for."""

from __future__ import annotations

from dataclasses import dataclass

from models.doors import number


@dataclass(frozen=True, slots=True)
class WallForUse:
    """A window of wet wall for a kind of piece, [mm], and where it comes from."""

    use: str
    thin_mm: float
    thick_mm: float
    source: str


# One inch figure is 25.4 mm; all are statements of makers (trade), to be overwritten by the caster's own.
STARTING_WALLS = (
    WallForUse("thin porcelain", 1.8, 2.2, "thin porcelain 1.8-2.0 mm, makers' word (trade) [S35]"),
    WallForUse("cups and tableware", 3.0, 4.0, "porcelain ware 3-4 mm, makers' word (trade) [S35]"),
    WallForUse("vases and general ware", 3.2, 4.8, "1/8 to 3/16 inch, makers' word (trade) [S24]"),
    WallForUse("planters and sturdy pieces", 5.0, 6.4, "about 1/4 inch, makers' word (trade) [S35]"),
    WallForUse("bakeware", 8.5, 9.5, "3/8 inch, makers' word (trade) [S24]"),
)
"""Common practice; no standard says how thick a pot must be."""


def time_window(thin_mm: float, thick_mm: float) -> float:
    """Casting time at the thick end over that at the thin end, as L2 = K t has it: 10 % of wall is 21 %."""
    thin = number("thin end", thin_mm, wanted="mm, 0.3 to 40", least=0.3, most=40)
    thick = number("thick end", thick_mm, wanted=f"mm, {thin:g} to 60", least=thin, most=60)
    return (thick / thin) ** 2
