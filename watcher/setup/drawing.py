"""What is to stand on a printed page, in millimetres, before any file format."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

Place = tuple[float, float]
"""(x, y) on the page, [mm]: x to the right from the left edge, y up from the lower edge."""


class Paper(Enum):
    """Sheets that printers take; the value is the width and height in portrait, in mm."""

    A4 = (210.0, 297.0)  # ISO 216
    LETTER = (215.9, 279.4)  # 8.5 x 11 in

    @property
    def portrait_mm(self) -> tuple[float, float]:
        """Width and height, upright, in mm."""
        return self.value

    @property
    def landscape_mm(self) -> tuple[float, float]:
        """Width and height, lying, in mm."""
        return self.value[1], self.value[0]


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle by its lower left corner, in mm."""

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True)
class Patch:
    """Black boxes painted as one shape, so that no seam shows between neighbours."""

    boxes: tuple[Box, ...]


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line through points; `grey` from 0 (black) to 1 (white)."""

    points_mm: tuple[Place, ...]
    width_mm: float = 0.2
    grey: float = 0.0
    dashed: bool = False
    closed: bool = False
    filled: bool = False


@dataclass(frozen=True, slots=True)
class Words:
    """One line of text. `within_mm`: it is written smaller where it would be wider than this."""

    x_mm: float
    y_mm: float
    text: str
    height_mm: float = 3.5
    anchor: str = "start"  # or "middle"
    turned_deg: float = 0.0
    within_mm: float | None = None
    grey: float = 0.0


Shape = Patch | Stroke | Words


@dataclass(frozen=True, slots=True)
class Page:
    """One page and all that stands on it."""

    width_mm: float
    height_mm: float
    shapes: tuple[Shape, ...]
