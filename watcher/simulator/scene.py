"""The picture that a simulated camera takes at a moment, and the truth behind it."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import numpy.typing as npt

from watcher.simulator.bench import Seat, SimBench, SimMould
from watcher.simulator.coverings import draw_cover, draw_drips, draw_shade, draw_spots, draw_sun_patch
from watcher.simulator.faults import Faults, draw_hand
from watcher.simulator.holes import HoleView, draw_hole, hole_view
from watcher.simulator.plates import owners, still_picture
from watcher.simulator.streams import draw_stream
from watcher.simulator.truth import CastingMould, Inside
from watcher.simulator.viewing import View

Picture = npt.NDArray[np.uint8]

NOISE_ROOM_PX = 61
"""The noise sheet is so much larger than the picture; each picture takes another cut of it. [px]"""


class Scene:
    """Draws one bench; keeps the still part until camera or moulds move.

    Parameters
    ----------
    bench : SimBench
    faults : Faults
    """

    def __init__(self, bench: SimBench, faults: Faults | None = None) -> None:
        self.bench = bench
        self.faults = faults or Faults()
        self._still: Picture | None = None
        self._still_for: tuple[View, tuple[Seat, ...]] | None = None
        self._holes: list[tuple[HoleView, ...]] = []
        self._time_s = -1.0
        self._casting: list[CastingMould] = []
        height, width = bench.view.lens.height_px, bench.view.lens.width_px
        shape = (height + NOISE_ROOM_PX, width + NOISE_ROOM_PX, 3)
        noise = np.random.default_rng(bench.seed + 1).standard_normal(shape, dtype=np.float32)
        self._noise = np.round(noise * bench.noise).astype(np.int16)

    def insides(self, time_s: float) -> tuple[Inside, ...]:
        """Return the truth of every mould at a moment, in the bench's order; going back costs a new start."""
        if not self._casting or time_s < self._time_s:
            share = self.bench.slip_per_cake
            self._casting = [CastingMould(m.profile, m.casts, share) for m in self.bench.moulds]
        self._time_s = time_s
        return tuple(mould.at(time_s) for mould in self._casting)

    def picture(self, time_s: float) -> Picture:
        """Return the picture at a moment, (rows, cols, 3), BGR; the same moment gives the same picture."""
        view, seats = self.faults.view(self.bench, time_s), self.faults.seats(self.bench, time_s)
        still = self._kept(view, seats)
        picture = still.copy()
        insides = self.insides(time_s)
        for mould, seat, holes, inside in zip(self.bench.moulds, seats, self._holes, insides, strict=True):
            if seat.there:
                self._draw_mould(
                    picture, view, mould, seat, holes, self._pinned(mould, inside, time_s), time_s
                )
        self._streams(picture, view, seats, time_s)
        for hand in self.faults.hands_now(time_s):
            draw_hand(picture, view, hand)
        return self._exposed(picture, time_s)

    def _pinned(self, mould: SimMould, inside: Inside, time_s: float) -> Inside:
        """Return what is seen inside: the edge where a skin holds it, else as it is."""
        skin = self.faults.skin_now(mould.name, time_s)
        if skin is None or inside.level_mm is None:
            return inside
        casting = CastingMould(mould.profile, mould.casts, self.bench.slip_per_cake)
        return replace(inside, level_mm=casting.at(skin.from_s).level_mm)

    def _draw_mould(
        self,
        picture: Picture,
        view: View,
        mould: SimMould,
        seat: Seat,
        holes: tuple[HoleView, ...],
        shown: Inside,
        time_s: float,
    ) -> None:
        """Draw what is in, on and over the pour holes of a mould that is there, in place."""
        splashes, clay = self.faults.splashes_now(mould.name, time_s), self.bench.clay
        for splash in splashes:
            draw_spots(picture, view, mould, seat, splash, clay)
        for hole in holes:
            draw_hole(picture, hole, self.bench, mould, shown, self.faults.froth_now(mould.name, time_s))
        deepest_mm = (mould.profile.depth_mm if shown.level_mm is None else shown.level_mm) - 1.0
        for splash in splashes:
            draw_drips(picture, view, mould, seat, splash, clay, deepest_mm)
        for shade in self.faults.shades_now(mould.name, time_s):
            draw_shade(picture, view, mould, seat, shade, time_s)
        for patch in self.faults.sun_patches_now(mould.name, time_s):
            draw_sun_patch(picture, view, mould, seat, patch)
        for cover in self.faults.covers_now(mould.name, time_s):
            draw_cover(picture, view, mould, seat, cover)

    def _streams(self, picture: Picture, view: View, seats: tuple[Seat, ...], time_s: float) -> None:
        """Draw every stream that falls now, each into its mould's first pour hole."""
        insides = self.insides(time_s)
        for mould, seat, holes, inside in zip(self.bench.moulds, seats, self._holes, insides, strict=True):
            falls = [at for cast in mould.casts if (at := cast.stream_at(time_s)) is not None]
            if falls and holes:
                draw_stream(picture, view, self.bench, mould, seat, holes[0], inside, falls[-1])

    def _kept(self, view: View, seats: tuple[Seat, ...]) -> Picture:
        if self._still is None or self._still_for != (view, seats):
            self._still = still_picture(self.bench, view, seats)
            self._still_for = (view, seats)
            shown = owners(self.bench, view, seats)
            moulds = enumerate(zip(self.bench.moulds, seats, strict=True))
            self._holes = [_hole_views(view, mould, seat, shown == i) for i, (mould, seat) in moulds]
        return self._still

    def _exposed(self, picture: Picture, time_s: float) -> Picture:
        gain, blur_px = self.faults.gain(time_s), self.faults.blur_px(time_s)
        if blur_px > 0:
            picture = np.asarray(cv2.GaussianBlur(picture, (0, 0), blur_px), dtype=np.uint8)
        if not np.array_equal(gain, np.ones(3)):
            table = np.clip(np.arange(256)[:, None] * gain, 0, 255).astype(np.uint8)[None]
            picture = np.asarray(cv2.LUT(picture, table), dtype=np.uint8)
        rng = np.random.default_rng((self.bench.seed, round(time_s * 1000)))
        down, right = rng.integers(0, NOISE_ROOM_PX, 2)
        height, width = picture.shape[:2]
        cut = self._noise[down : down + height, right : right + width]
        return np.asarray(cv2.add(picture, cut, dtype=cv2.CV_8U), dtype=np.uint8)


def _hole_views(
    view: View, mould: SimMould, seat: Seat, shown: npt.NDArray[np.bool_]
) -> tuple[HoleView, ...]:
    """Rays of a mould's pour holes, where no nearer mould stands before them."""
    if not seat.there:
        return ()
    found = []
    for k in range(len(mould.profile.holes)):
        hole = hole_view(view, mould, seat, k)
        if hole is not None:
            rows, cols = hole.cover.shape
            own = shown[hole.top : hole.top + rows, hole.left : hole.left + cols]
            found.append(replace(hole, cover=hole.cover * own.astype(np.float32)))
    return tuple(found)
