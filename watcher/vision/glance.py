"""A glance at streams alone: between two looks, while moulds are being filled."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType

import cv2
import numpy as np
import numpy.typing as npt

from watcher.records.frames import Frame
from watcher.records.layout import BenchLayout
from watcher.records.readings import Contents
from watcher.records.streams import Glance, StreamSeen
from watcher.vision.curtain import Curtain, hang, plan_curtain
from watcher.vision.holes import HolePlace, shapes
from watcher.vision.lens import usable_lens
from watcher.vision.memory import Eyes
from watcher.vision.pose import CameraPose
from watcher.vision.stream import find_streak

Floats = npt.NDArray[np.float32]

TOUCHED = 4.0
"""Mean change of one upright strip of the sheet, in grey levels, from which a stream is looked for."""

KEEP_S = 60.0
"""A changed sheet in which no stream was found for so long is the new look of the hole. [s]"""


@dataclass(frozen=True, slots=True)
class Hung:
    """The sheet of one hole: where it hangs, how it looked before a pour, and when that was found."""

    place: HolePlace
    camera: CameraPose
    curtain: Curtain
    before: Floats | None = None
    before_s: float = 0.0


@dataclass(frozen=True, slots=True)
class StreamEyes:
    """What glances remember, by mould. Nothing here is ever changed in place."""

    hung: Mapping[str, Hung] = field(default_factory=lambda: MappingProxyType({}))


def glance_at(
    frame: Frame, layout: BenchLayout, eyes: Eyes | None, memory: StreamEyes, idle: frozenset[str]
) -> tuple[Glance, StreamEyes]:
    """Look for a stream over every mould that holds no finished filling.

    Parameters
    ----------
    frame : Frame
    layout : BenchLayout
    eyes : Eyes or None
        As the last look left them: where camera and moulds stand.
    memory : StreamEyes
        As the last glance left it.
    idle : frozenset of str
        Moulds without slip, or that are being filled. The others are left out.
    """
    if eyes is None or eyes.camera is None:
        return Glance(frame.taken_s, frame.taken_at), memory
    lens = usable_lens(layout.lens, *frame.image.shape[:2])
    hung, streams = {}, []
    for mould in layout.moulds:
        known = eyes.moulds.get(mould.name)
        if mould.name not in idle or known is None or not known.places:
            continue
        place, held = known.places[0], memory.hung.get(mould.name)
        if held is None or held.place is not place or held.camera is not eyes.camera:
            curtain = plan_curtain(shapes(mould.profile)[0], place, eyes.camera, lens)
            if curtain is None:
                continue
            held = _moved(held, place, eyes.camera, curtain)
        bare = known.contents is Contents.EMPTY
        seen, hung[mould.name] = _seen(frame, mould.name, held, bare=bare)
        if seen is not None:
            streams.append(seen)
    return Glance(frame.taken_s, frame.taken_at, tuple(streams)), StreamEyes(MappingProxyType(hung))


def _moved(held: Hung | None, place: HolePlace, camera: CameraPose, curtain: Curtain) -> Hung:
    """Hang the sheet anew; what it looked like counts on where it hardly moved."""
    if held is None or held.curtain.pixels.shape != curtain.pixels.shape:
        return Hung(place, camera, curtain)
    if float(np.abs(held.curtain.pixels - curtain.pixels).max()) > 1.0:
        return Hung(place, camera, curtain)
    return replace(held, place=place, camera=camera, curtain=curtain)


def _seen(frame: Frame, mould: str, held: Hung, *, bare: bool) -> tuple[StreamSeen | None, Hung]:
    """Find the stream over one mould, or take the sheet as the one before the next pour."""
    now = hang(frame.image, held.curtain)
    if held.before is None:
        return None, (replace(held, before=now, before_s=frame.taken_s) if bare else held)
    touched = _touched(now, held.before)
    streak = find_streak(now, held.before, held.curtain) if touched > TOUCHED else None
    if streak is not None:
        return StreamSeen(mould, streak.across_mm, streak.sigma_mm), held
    if bare and (touched <= TOUCHED or frame.taken_s - held.before_s > KEEP_S):
        return None, replace(held, before=now, before_s=frame.taken_s)
    return None, held


def _touched(now: Floats, before: Floats) -> float:
    """Return the most that any upright strip of the sheet changed on the mean. [grey levels]."""
    gain = float(np.median(now[..., 0])) / max(float(np.median(before[..., 0])), 1.0)
    changed = np.abs(cv2.blur(now - before * np.float32(gain), (5, 5)))
    return float(changed.mean(axis=0).max())
