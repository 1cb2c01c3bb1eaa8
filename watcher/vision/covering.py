"""What lies over a hole: a hand that moves, a board or cloth that stays, a light that burns it out."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from watcher.records.frames import Image
from watcher.records.readings import Contents, Missed
from watcher.vision.contents import change
from watcher.vision.memory import MouldMemory, Over
from watcher.vision.rim_in_view import around_rim, burnt_share, rim_share, unlike
from watcher.vision.sampling import Pixels

Array = npt.NDArray[np.float64]

RIM_LOOKS = 4
"""Clear looks over which it is learned how much of a hole's rim can be seen where it stands."""
GONE_SHARE, GONE_OF_USUAL = 0.25, 0.4
NEVER_SEEN_SHARE = 0.06
"""A rim that was never seen is gone where less of it shows than this."""
LOOKS_OTHERWISE = 0.5
STAYS_S = 40.0
"""A hand, a jug or a funnel moves within this time; a board or a cloth stays."""
SAME_SHARE = 0.04
BURNT_SHARE = 0.5


@dataclass(frozen=True, slots=True)
class Way:
    """What the ring around the hole says: is anything in the way, and is the mould's card in view."""

    blocked: bool
    card_there: bool


def look_over(
    image: Image, memory: MouldMemory, seen: Pixels, way: Way, shift_px: Array, now_s: float
) -> tuple[Missed | None, MouldMemory]:
    """Tell what hides a hole, or None; for one pour hole.

    Where card and camera stand and the rim shows no edge, something opaque lies over it, be it as even and as
    bright as the plaster. While it moves it is a hand; once it has stayed as it is, the hole is covered.
    """
    if memory.contents is Contents.AWAY or not way.card_there:
        return (Missed.HAND if way.blocked else None), replace(memory, over=None)
    plan = memory.plans[0].strip
    if not _asks(memory, seen, way):
        if memory.rim_looks < RIM_LOOKS:
            memory = _learned(memory, rim_share(around_rim(image, plan, shift_px)))
        return None, memory
    patch = around_rim(image, plan, shift_px)
    if burnt_share(patch) > BURNT_SHARE:
        return Missed.BLOWN_OUT, replace(memory, over=None)
    if rim_share(patch) >= _gone_below(memory) or unlike(patch):
        return (Missed.HAND if way.blocked else None), replace(memory, over=None)
    over = memory.over
    since_s = over.since_s if over is not None and _same(patch, over.patch) else now_s
    reading = Missed.COVERED if now_s - since_s >= STAYS_S else Missed.HAND
    return reading, replace(memory, over=Over(patch, since_s))


def _asks(memory: MouldMemory, seen: Pixels, way: Way) -> bool:
    """Tell whether anything gives cause to look at the rim; at rest nothing does, and it costs nothing."""
    last = memory.looks[0].last
    if way.blocked or memory.over is not None or last is None:
        return True
    return change(seen.look, last, seen.shown) > LOOKS_OTHERWISE


def _learned(memory: MouldMemory, share: float) -> MouldMemory:
    count = memory.rim_looks + 1
    before = memory.rim_usual or 0.0
    return replace(memory, rim_usual=before + (share - before) / count, rim_looks=count)


def _gone_below(memory: MouldMemory) -> float:
    if memory.rim_usual is None:
        return NEVER_SEEN_SHARE
    return max(min(GONE_SHARE, GONE_OF_USUAL * memory.rim_usual), NEVER_SEEN_SHARE)


def _same(patch: npt.NDArray[np.float32], before: npt.NDArray[np.float32]) -> bool:
    """Tell a picture that stayed as it was but for light and noise."""
    if patch.shape != before.shape:
        return False
    gain = float(patch.mean()) / max(float(before.mean()), 1.0)
    away = float(np.abs(patch - gain * before).mean())
    return away < SAME_SHARE * max(float(patch.mean()), 24.0)
