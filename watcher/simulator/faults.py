"""What goes wrong on a simulated bench, and when: hands, lamps, knocks, blur, a camera that stalls.

Top-ups, short fills and slip that is lost belong to the casts (`truth.SimCast`). All moments are in seconds
of the simulation; an interval holds from its first moment up to but not including its last.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
import numpy.typing as npt

from watcher.records.frames import Blind
from watcher.records.layout import Point3
from watcher.simulator.bench import Colour, Seat, SimBench
from watcher.simulator.coverings import Cover, Froth, Shade, Skin, Splash, SunPatch
from watcher.simulator.viewing import View

Array = npt.NDArray[np.float64]

LIMBS: tuple[tuple[Point3, Point3, float, float], ...] = (
    ((-190, 0, 20), (-25, 0, 0), 34, 26),
    ((-25, -8, 0), (40, -20, 2), 26, 17),
    ((-25, 8, 0), (38, 20, 2), 26, 17),
    ((40, -26, 2), (96, -42, -10), 10, 8),
    ((42, -8, 3), (110, -14, -8), 11, 8),
    ((40, 10, 3), (108, 16, -8), 11, 8),
    ((36, 26, 2), (86, 42, -8), 10, 7),
    ((-5, -24, -4), (46, -66, -12), 15, 10),
    ((-420, 0, 45), (-170, 0, 18), 50, 42),
)
"""A hand seen from above, fingers along x: from, to, radius at each end; mm. The last is the sleeve."""


@dataclass(frozen=True, slots=True)
class Hand:
    """A hand and forearm over a point of the bench frame, fingers pointing along `yaw_deg`."""

    from_s: float
    to_s: float
    palm_mm: Point3
    yaw_deg: float = 90.0
    skin: Colour = (110.0, 140.0, 195.0)
    sleeve: Colour = (110.0, 70.0, 50.0)


@dataclass(frozen=True, slots=True)
class LightChange:
    """The light is multiplied by (blue, green, red): a lamp, a cloud, an exposure that was changed."""

    from_s: float
    to_s: float
    gain: Colour


@dataclass(frozen=True, slots=True)
class Nudge:
    """A mould is pushed and turned, or taken away (`there` False) or put back, and stays so."""

    at_s: float
    mould: str
    by_mm: tuple[float, float] = (0.0, 0.0)
    by_deg: float = 0.0
    there: bool = True


@dataclass(frozen=True, slots=True)
class Bump:
    """The camera is knocked and stays so."""

    at_s: float
    shift_mm: Point3
    turn_deg: Point3


@dataclass(frozen=True, slots=True)
class Blur:
    """The picture is out of focus or smeared: standard deviation of the blur in px."""

    from_s: float
    to_s: float
    sigma_px: float


@dataclass(frozen=True, slots=True)
class Outage:
    """The camera gives no picture, for this reason."""

    from_s: float
    to_s: float
    why: Blind = Blind.STALLED


@dataclass(frozen=True, slots=True)
class Faults:
    """All that goes wrong in one simulation."""

    hands: tuple[Hand, ...] = ()
    lights: tuple[LightChange, ...] = ()
    nudges: tuple[Nudge, ...] = ()
    bumps: tuple[Bump, ...] = ()
    blurs: tuple[Blur, ...] = ()
    outages: tuple[Outage, ...] = ()
    covers: tuple[Cover, ...] = ()
    froths: tuple[Froth, ...] = ()
    sun_patches: tuple[SunPatch, ...] = ()
    skins: tuple[Skin, ...] = ()
    shades: tuple[Shade, ...] = ()
    splashes: tuple[Splash, ...] = ()

    def view(self, bench: SimBench, time_s: float) -> View:
        """Return the camera where the knocks so far have left it."""
        view = bench.view
        for bump in self.bumps:
            if bump.at_s <= time_s:
                view = view.moved(bump.shift_mm, bump.turn_deg)
        return view

    def seats(self, bench: SimBench, time_s: float) -> tuple[Seat, ...]:
        """Return where every mould stands, in the bench's order."""
        seats = {mould.name: mould.seat for mould in bench.moulds}
        for nudge in sorted(self.nudges, key=lambda n: n.at_s):
            if nudge.at_s <= time_s:
                was = seats[nudge.mould]
                x, y = was.x_mm + nudge.by_mm[0], was.y_mm + nudge.by_mm[1]
                seats[nudge.mould] = replace(
                    was, x_mm=x, y_mm=y, yaw_deg=was.yaw_deg + nudge.by_deg, there=nudge.there
                )
        return tuple(seats[mould.name] for mould in bench.moulds)

    def gain(self, time_s: float) -> Array:
        """Return the light's gain on blue, green and red."""
        gain = np.ones(3)
        for light in self.lights:
            if light.from_s <= time_s < light.to_s:
                gain = gain * light.gain
        return gain

    def blur_px(self, time_s: float) -> float:
        """Return the strongest blur that holds, in px."""
        return max((b.sigma_px for b in self.blurs if b.from_s <= time_s < b.to_s), default=0.0)

    def outage(self, time_s: float) -> Blind | None:
        """Return why there is no picture, or None when there is one."""
        return next((o.why for o in self.outages if o.from_s <= time_s < o.to_s), None)

    def hands_now(self, time_s: float) -> tuple[Hand, ...]:
        """Return the hands that are over the bench."""
        return tuple(h for h in self.hands if h.from_s <= time_s < h.to_s)

    def covers_now(self, mould: str, time_s: float) -> tuple[Cover, ...]:
        """Return what lies over a mould's pour holes."""
        return tuple(c for c in self.covers if c.mould == mould and c.from_s <= time_s < c.to_s)

    def froth_now(self, mould: str, time_s: float) -> Froth | None:
        """Return the froth on a mould's slip, or None."""
        return next((f for f in self.froths if f.mould == mould and f.from_s <= time_s < f.to_s), None)

    def hidden_holes(self, mould: str, holes: int, time_s: float) -> frozenset[int]:
        """Return which pour holes of a mould show no line: covered, frothed over or burnt out."""
        if self.froth_now(mould, time_s) is not None:
            return frozenset(range(holes))
        over = [c.hole for c in self.covers_now(mould, time_s)]
        burnt = [p.hole for p in self.sun_patches_now(mould, time_s)]
        return (
            frozenset(range(holes)) if None in over else frozenset(k for k in over + burnt if k is not None)
        )

    def skin_now(self, mould: str, time_s: float) -> Skin | None:
        """Return the skin that pins a mould's slip, or None."""
        return next((s for s in self.skins if s.mould == mould and s.from_s <= time_s < s.to_s), None)

    def shades_now(self, mould: str, time_s: float) -> tuple[Shade, ...]:
        """Return the shadows whose edge lies across a mould."""
        return tuple(s for s in self.shades if s.mould == mould and s.from_s <= time_s < s.to_s)

    def splashes_now(self, mould: str, time_s: float) -> tuple[Splash, ...]:
        """Return what was spilt around a mould's pour holes."""
        return tuple(s for s in self.splashes if s.mould == mould and s.from_s <= time_s < s.to_s)

    def sun_patches_now(self, mould: str, time_s: float) -> tuple[SunPatch, ...]:
        """Return what sun burns out of a mould's pour holes."""
        return tuple(p for p in self.sun_patches if p.mould == mould and p.from_s <= time_s < p.to_s)


def draw_hand(picture: npt.NDArray[np.uint8], view: View, hand: Hand) -> None:
    """Draw a hand over the picture, in place, limb by limb as tapering strokes."""
    c, s = np.cos(np.radians(hand.yaw_deg)), np.sin(np.radians(hand.yaw_deg))
    turn = np.array([[c, s, 0.0], [-s, c, 0.0], [0.0, 0.0, 1.0]])
    for i, (start, end, r0, r1) in enumerate(LIMBS):
        colour = hand.sleeve if i == len(LIMBS) - 1 else hand.skin
        share = np.linspace(0.0, 1.0, 14)[:, None]
        spine = (np.array(start) + share * np.subtract(end, start)) @ turn + hand.palm_mm
        radii = r0 + share[:, 0] * (r1 - r0)
        sideways = spine + radii[:, None] * np.array(view.axes[0])
        middle, rim = view.project(spine), view.project(sideways)
        for dot, radius in zip(middle, np.hypot(*(rim - middle).T), strict=True):
            if np.isfinite(dot).all() and abs(dot).max() < 20000:
                at = (round(dot[0] * 16), round(dot[1] * 16))
                cv2.circle(picture, at, max(1, round(radius * 16)), colour, -1, cv2.LINE_AA, 4)
