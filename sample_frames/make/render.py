"""Render sessions: `python render.py OUT [--only NAME ...] [--spp 160] [--set varied|morning] [--every N]`.

Needs Mitsuba 3 (the `render` extra). Uses an NVIDIA GPU where there is one, else the processor through LLVM
16 or newer (`DRJIT_LIBLLVM_PATH` names it), which is far slower. Still parts of a view are rendered once per
placement and light; per frame only what lies around the pour holes, or the whole picture where a hand, a jug
or a moving sun is in it.
"""

from __future__ import annotations

import argparse
import importlib
import time
from dataclasses import replace
from pathlib import Path

import cv2
import mitsuba as mi
import numpy as np
from optics import develop
from record import integrate, write_papers
from shoot import shoot
from stage import Stage
from story import Session


def scaled(session: Session, share: float) -> Session:
    """Return the same session through a lens of fewer pixels (for trying things)."""
    lens = session.lens
    small = replace(
        lens,
        width=int(lens.width * share),
        height=int(lens.height * share),
        f=lens.f * share,
        cx=(lens.cx + 0.5) * share - 0.5,
        cy=(lens.cy + 0.5) * share - 0.5,
    )
    return replace(session, lens=small)


def hole_pixels(session: Session, time_s: float) -> np.ndarray:
    """Mask of the picture around every pour hole."""
    lens, pose = session.lens, session.pose_at(time_s)
    mask = np.zeros((lens.height, lens.width), np.uint8)
    a = np.arange(40) * 2 * np.pi / 40
    for part in session.moulds:
        place = part.place_at(time_s)
        if place.state != "in":
            continue
        r = part.cavity.bore[0][1] / 2 * 1.6 + 9
        ring = np.stack(
            [place.x + r * np.cos(a), place.y + r * np.sin(a), np.full_like(a, part.height)], axis=1
        )
        cv2.fillConvexPoly(mask, cv2.convexHull(pose.project(lens, ring).astype(np.int32)), 1)
    return mask.ravel().astype(bool)


def light_state(session: Session, time_s: float) -> tuple:
    """Return what decides whether the still parts look the same."""
    light = session.light
    lamp = any(a <= time_s < b for a, b in light.lamp_on)
    sun = time_s if light.sun and light.sun_path else 0.0
    places = tuple(p.place_at(time_s) for p in session.moulds)
    return (lamp, sun, places, session.pose_at(time_s))


def busy(session: Session, runs: dict, time_s: float) -> bool:
    """Return true when something big is in the picture (hand, jug)."""
    hands = any(h.from_s <= time_s < h.to_s for h in session.hands)
    return hands or any(runs[p.name].at(time_s).phase in ("filling", "topping_up") for p in session.moulds)


def exposure_for(light: np.ndarray, session: Session) -> float:
    """Exposure that puts the bright plaster at about four fifths of white, times the session's own choice."""
    return float(session.sensor.exposure * 0.62 / np.percentile(light.max(axis=1), 93))


def render_session(
    session: Session, out: Path, spp: int, every: int = 1, part: tuple[int, int] = (0, 1)
) -> None:
    """Render all frames of one session into its folder."""
    began = time.time()
    runs = integrate(session)
    folder = out / session.name
    settings = (
        f"Physically based renders (Mitsuba {mi.__version__}, {mi.variant()}, path tracing, {spp} samples "
        f"a pixel, no denoiser), sensor noise and JPEG added after; seed {session.seed}; "
        f"{session.lens.width}x{session.lens.height}. "
        "Made by sample_frames/make. Truth by its own integration (casting.py)."
    )
    write_papers(session, runs, folder, settings)
    if session.streams:
        importlib.import_module("pours").write_streams(session, folder)
    stage = Stage(session, runs)
    lens, everything = session.lens, np.arange(session.lens.width * session.lens.height)
    still, state = None, None
    first = shoot(
        stage.scene(session.times[0], []), lens, session.pose_at(0.0), everything[::7], 32, 0.5, session.seed
    )
    exposure = exposure_for(first, session)
    count = len(session.times)
    for k, t in enumerate(session.times):
        if k % every or not part[0] * count <= k * part[1] < (part[0] + 1) * count:
            continue
        hands = [h for h in session.hands if h.from_s <= t < h.to_s]
        scene = stage.scene(t, hands)
        pose, seed, now = session.pose_at(t), session.seed * 997 + k, light_state(session, t)
        if busy(session, runs, t):
            light = shoot(scene, lens, pose, everything, max(spp // 2, 8), session.blur_px, seed)
        elif now != state:
            light = still = shoot(scene, lens, pose, everything, spp, session.blur_px, seed)
            state = now
        else:
            light = still.copy()
            pixels = everything[hole_pixels(session, t)]
            light[pixels] = shoot(scene, lens, pose, pixels, spp, session.blur_px, seed)
        gain = 1 + session.light.cloud * np.sin(t / 210.0 + session.seed)
        sensor = replace(session.sensor, exposure=exposure)
        picture = develop(
            light.reshape(lens.height, lens.width, 3), sensor, t, gain, np.random.default_rng(seed)
        )
        cv2.imwrite(
            str(folder / f"frames/{k:06d}.jpg"), picture, [cv2.IMWRITE_JPEG_QUALITY, session.sensor.jpeg]
        )
    print(
        time.strftime("%H:%M:%S"),
        f"{session.name}: {len(session.times)} frames, {time.time() - began:.1f} s",
        flush=True,
    )


def main() -> None:
    """Read the command line and render."""
    mi.set_variant("cuda_ad_rgb", "llvm_ad_rgb")
    cli = argparse.ArgumentParser(description=__doc__)
    cli.add_argument("out", type=Path)
    cli.add_argument("--set", default="varied")
    cli.add_argument("--only", nargs="*")
    cli.add_argument("--spp", type=int, default=160)
    cli.add_argument("--every", type=int, default=1)
    cli.add_argument("--scale", type=float, default=1.0)
    cli.add_argument(
        "--part", default="0/1", help="render only this share of the frames, such as 1/3 (counted from 0)"
    )
    cli.add_argument("--until", type=float, default=1e9, help="start no session after so many seconds")
    asked = cli.parse_args()
    began = time.time()
    share = tuple(int(v) for v in asked.part.split("/"))
    for session in importlib.import_module(asked.set).sessions(asked.only):
        if (asked.out / session.name / "done").exists():
            continue
        if time.time() - began > asked.until:
            print("left:", session.name)
            continue
        render_session(scaled(session, asked.scale), asked.out, asked.spp, asked.every, share)
        (asked.out / session.name / "done").write_text("")


if __name__ == "__main__":
    main()
