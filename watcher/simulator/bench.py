"""What stands on a simulated bench, and how it is described to the watcher."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from models.mould import MouldProfile
from watcher.records.layout import BenchLayout, Card, PlacedMould, SheetTag
from watcher.simulator.truth import SimCast
from watcher.simulator.viewing import View

Colour = tuple[float, float, float]
"""Blue, green, red as they come out of the camera in plain light, 0 to 255."""

CARD_LIFT_MM = 0.35
"""Thickness of a tag card. [mm]"""


@dataclass(frozen=True, slots=True)
class Seat:
    """Where a mould's rim centre stands, turned about the vertical; `there` False: taken away."""

    x_mm: float
    y_mm: float
    yaw_deg: float = 0.0
    there: bool = True


@dataclass(frozen=True, slots=True)
class SimMould:
    """A mould with its card, its casts and its first seat.

    Attributes
    ----------
    profile : MouldProfile
    casts : tuple of SimCast
    seat : Seat
    height_mm : float
        From the bench to the rim. [mm]
    half_mm : float
        Half the width of a box mould, or the radius of a round one. [mm]
    is_round : bool
    tag_id, tag_mm : int, float
        The card's tag and its size. [mm]
    card_xy_mm : tuple of float
        Centre of the tag from the rim's centre, in the mould's own axes. [mm]
    """

    profile: MouldProfile
    casts: tuple[SimCast, ...]
    seat: Seat
    height_mm: float
    half_mm: float
    is_round: bool
    tag_id: int
    tag_mm: float
    card_xy_mm: tuple[float, float]

    @property
    def name(self) -> str:
        """The profile's name."""
        return self.profile.name


@dataclass(frozen=True, slots=True)
class SimBench:
    """A whole simulated bench.

    Attributes
    ----------
    camera : str
        Name of its camera.
    view : View
    sheet : tuple of SheetTag
    moulds : tuple of SimMould
    specific_gravity, cake_solids_fraction : float
        Of the slip, and solids by volume of its cake.
    clay, plaster, table : Colour
    noise : float
        Standard deviation of the sensor's noise, grey levels of 255.
    seed : int
        Fixes textures and noise.
    dish : float
        How much darker the middle of the slip is than its edge, as a share: a surface that has sunk in.
    falls : tuple of float
        How much deeper slip stands per mm along x and along y, for a bench that slopes; 0: level.
    """

    camera: str
    view: View
    sheet: tuple[SheetTag, ...]
    moulds: tuple[SimMould, ...]
    specific_gravity: float = 1.76
    cake_solids_fraction: float = 0.64
    clay: Colour = (150.0, 185.0, 205.0)
    plaster: Colour = (206.0, 212.0, 214.0)
    table: Colour = (96.0, 124.0, 148.0)
    noise: float = 2.5
    seed: int = 1
    falls: tuple[float, float] = (0.0, 0.0)
    dish: float = 0.0

    @property
    def slip_per_cake(self) -> float:
        """Volume of slip used up by one volume of cake (solids of gravity 2.6)."""
        return self.cake_solids_fraction / ((self.specific_gravity - 1.0) / 1.6)

    def layout(self) -> BenchLayout:
        """Describe the bench as the caster would."""
        placed = []
        for mould in self.moulds:
            x, y = mould.card_xy_mm
            card = Card(mould.tag_id, mould.tag_mm, (-x, -y, -CARD_LIFT_MM))
            placed.append(PlacedMould(mould.name, mould.profile, card))
        up = np.array([*self.falls, 1.0]) / np.linalg.norm([*self.falls, 1.0])
        against = (float(up[0]), float(up[1]), float(up[2]))
        return BenchLayout(self.camera, self.view.lens, self.sheet, tuple(placed), up=against)


def on_bench(mould: SimMould, seat: Seat, points_mm: np.ndarray) -> np.ndarray:
    """Points (n, 3) of the mould's axes (rim centre, z up) as points of the bench frame, in mm."""
    c, s = np.cos(np.radians(seat.yaw_deg)), np.sin(np.radians(seat.yaw_deg))
    turned = np.asarray(points_mm, float) @ np.array([[c, s, 0.0], [-s, c, 0.0], [0.0, 0.0, 1.0]])
    return np.asarray(turned + np.array([seat.x_mm, seat.y_mm, mould.height_mm]), dtype=np.float64)
