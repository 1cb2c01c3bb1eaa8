"""Try the camera: whether it sends pictures that can be used, and what of the bench is in them."""

from __future__ import annotations

from collections.abc import Iterator
from threading import Event

from watcher.camera.address import Address, AddressError, camera_address
from watcher.camera.opening import open_source
from watcher.clock import ComputerClock
from watcher.commands.finding import Finding
from watcher.records.frames import Blind, Frame, NoFrame
from watcher.records.layout import BenchLayout
from watcher.records.readings import Missed, Sighting
from watcher.settings import Settings
from watcher.vision.look import look_at

PATIENCE_S = 12.0
"""An RTSP camera takes 3 s to open when all is well (own measurement); one that sleeps takes longer. [s]"""
_ASK_AGAIN_S = 0.2
_FINAL = (Blind.WRONG_SIZE, Blind.REFUSED)


def camera_findings(settings: Settings, layout: BenchLayout | None) -> Iterator[Finding]:
    """Open the camera, take one picture and look at it."""
    try:
        address = camera_address(settings.camera.address.get_secret_value(), settings.camera.folders)
    except AddressError as fault:
        yield Finding("camera", False, str(fault))
        return
    if layout is None or layout.lens is None:
        yield Finding("camera", True, f"the address {address} can be used; not opened without a bench")
        return
    taken = _picture(address, (layout.lens.width_px, layout.lens.height_px))
    if isinstance(taken, NoFrame):
        yield Finding("camera", False, taken.detail or f"{address} sends no picture ({taken.why})")
        return
    yield Finding("camera", True, f"{address} sends {layout.lens.width_px}x{layout.lens.height_px}")
    sighting, _ = look_at(taken, layout, None, {})
    yield _view(sighting)


def _picture(address: Address, size_px: tuple[int, int]) -> Frame | NoFrame:
    clock = ComputerClock()
    source = open_source("camera", address, clock, size_px=size_px)
    until_s = clock.now_s() + PATIENCE_S
    try:
        while True:
            newest = source.newest()
            sure = isinstance(newest, Frame) or newest.why in _FINAL
            if sure or clock.now_s() > until_s:
                return newest
            Event().wait(_ASK_AGAIN_S)
    finally:
        source.close()


def _view(sighting: Sighting) -> Finding:
    if sighting.camera_why:
        return Finding("view", False, f"{sighting.camera_why}; mend that and try again")
    lost = [hole.mould for hole in sighting.holes if hole.reading is Missed.CARD_LOST]
    found = [hole.mould for hole in sighting.holes if hole.reading is not Missed.CARD_LOST]
    says = f"bench sheet in view; moulds found: {', '.join(found) or 'none'}"
    if lost:
        says += f"; not found: {', '.join(lost)} (fine while they are not on the bench)"
    return Finding("view", bool(found), says if found else f"{says}; put one in view and try again")
