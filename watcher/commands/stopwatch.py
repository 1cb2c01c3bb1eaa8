"""How long each step of a look takes, taken from outside: the eyes themselves know no clock."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import wraps
from statistics import fmean, median
from time import perf_counter
from types import ModuleType
from typing import Any

import cv2

from watcher.vision import look

POSE_STEP = "find_scene"
HOLE_STEP = "look_into_all"
"""The steps of `watcher.vision.look` that are timed: where camera and cards are; one mould's hole read."""


@dataclass(slots=True)
class Stopwatch:
    """Times in seconds: one for each picture, for `hole_s` one for each mould in it."""

    decode_s: list[float] = field(default_factory=list)
    pose_s: list[float] = field(default_factory=list)
    hole_s: list[float] = field(default_factory=list)
    look_s: list[float] = field(default_factory=list)

    def figures(self, moulds: int) -> dict[str, object]:
        """Return what ``timings.json`` holds."""
        return {
            "decode_ms": _both(self.decode_s),
            "pose_ms": _both(self.pose_s),
            "hole_ms": _both(self.hole_s),
            "look_ms": _both(self.look_s),
            "frames": len(self.look_s),
            "moulds": moulds,
        }


@contextmanager
def timed(watch: Stopwatch) -> Iterator[None]:
    """Time the steps of every look made meanwhile; OpenCV works in one thread."""
    threads = cv2.getNumThreads()
    cv2.setNumThreads(1)
    try:
        with _around(look, POSE_STEP, watch.pose_s.append), _around(look, HOLE_STEP, watch.hole_s.append):
            yield
    finally:
        cv2.setNumThreads(threads)


@contextmanager
def _around(module: ModuleType, name: str, took: Callable[[float], None]) -> Iterator[None]:
    """Put a stopwatch around one function of a module for a while."""
    step: Callable[..., Any] = getattr(module, name)

    @wraps(step)
    def with_stopwatch(*given: Any, **named: Any) -> Any:
        began = perf_counter()
        try:
            return step(*given, **named)
        finally:
            took(perf_counter() - began)

    setattr(module, name, with_stopwatch)
    try:
        yield
    finally:
        setattr(module, name, step)


def _both(seconds: list[float]) -> dict[str, float | None]:
    if not seconds:
        return {"mean": None, "median": None}
    return {"mean": round(1e3 * fmean(seconds), 4), "median": round(1e3 * median(seconds), 4)}
