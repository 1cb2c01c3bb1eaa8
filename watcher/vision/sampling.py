"""One hole of one frame, sampled: its wall straightened, its ring of plaster, and what changed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from watcher.records.frames import Image
from watcher.vision.contents import in_grey_levels, inside_look
from watcher.vision.film import Film
from watcher.vision.gate import ring_change, ring_light, sample_ring
from watcher.vision.memory import HoleLooks, HolePlans
from watcher.vision.middle import middle_of_columns
from watcher.vision.strip import pixels_at, straighten, to_sectors

Array = npt.NDArray[np.float64]
Floats = npt.NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class Pixels:
    """One hole's samples of this frame; `light` is the ring's brightness and its colour (red less blue)."""

    profiles: Floats
    look: Floats
    shown: npt.NDArray[np.bool_]
    ring: Floats
    changed: float
    film: Film
    light: tuple[float, float]


def sample_hole(image: Image, plans: HolePlans, looks: HoleLooks, film: Film, shift: Array) -> Pixels:
    """Sample one hole and its ring."""
    ring = sample_ring(image, plans.ring, shift)
    inside = ring[plans.ring.inside]
    bgr = middle_of_columns(inside) if inside.size else np.full(3, 128.0)
    strip = straighten(image, pixels_at(plans.strip, film.mm, shift))
    profiles, shown = to_sectors(strip), plans.strip.shown()
    look = inside_look(profiles, bgr)
    if looks.rim is not None:
        profiles = profiles - in_grey_levels(looks.rim, bgr)
    changed = 0.0 if looks.ring is None else ring_change(ring, looks.ring, plans.ring)
    return Pixels(profiles, look, shown, ring, changed, film, ring_light(bgr))
