"""A simulated session as a recording folder with its truth, to be replayed and judged like any other."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Sequence
from pathlib import Path

import cv2

from watcher.simulator.bench import CARD_LIFT_MM, SimBench, SimMould
from watcher.simulator.scene import Scene
from watcher.simulator.sight import hand_covers, seen_share

TRUTH = (
    "time_s",
    "mould",
    "phase",
    "level_mm",
    "wall_mm",
    "visible",
    "visible_fraction",
    "hand",
    "covered",
    "froth",
)
READY_STEP_S = 2.0


def write_recording(
    scene: Scene,
    folder: Path,
    times_s: Sequence[float],
    *,
    quality: int = 88,
    start: str = "2026-06-01T08:00:00Z",
) -> None:
    """Write pictures, settings, truth and events of a simulated session.

    Parameters
    ----------
    scene : Scene
    folder : Path
        Made if it is not there; files of the same names are written over.
    times_s : sequence of float
        Moments of the pictures, growing. [s]
    quality : int
        Of the JPEG files, 1 to 100.
    start : str
        Moment of second 0, ISO 8601 UTC.
    """
    (folder / "frames").mkdir(parents=True, exist_ok=True)
    (folder / "recording.toml").write_text(settings_text(scene.bench, start), encoding="utf-8")
    frames: list[tuple[str, str]] = []
    truth: list[tuple[str, ...]] = []
    for k, time_s in enumerate(times_s):
        truth.extend(_truth_rows(scene, time_s))
        if scene.faults.outage(time_s) is None:
            name = f"frames/{k:06d}.jpg"
            jpeg = cv2.imencode(".jpg", scene.picture(time_s), [cv2.IMWRITE_JPEG_QUALITY, quality])[1]
            (folder / name).write_bytes(jpeg.tobytes())
            frames.append((name, f"{time_s:.2f}"))
    _table(folder / "frames.csv", ("file", "time_s"), frames)
    _table(folder / "truth.csv", TRUTH, truth)
    _table(folder / "events.csv", ("time_s", "mould", "event"), events(scene, times_s[-1]))


def settings_text(bench: SimBench, start: str) -> str:
    """Describe the bench as a recording's settings file does (TOML)."""
    lens = bench.view.lens
    parts = [
        f'[clock]\nstart = "{start}"\n',
        f"[camera]\nwidth = {lens.width_px}\nheight = {lens.height_px}\nfx = {lens.fx_px}\n"
        f"fy = {lens.fy_px}\ncx = {lens.cx_px}\ncy = {lens.cy_px}\ndistortion = {list(lens.distortion)}\n",
        f"[slip]\nspecific_gravity = {bench.specific_gravity}\n"
        f"cake_solids_fraction = {bench.cake_solids_fraction}\n",
    ]
    for tag in bench.sheet:
        parts.append(
            f'[[sheet]]\ndictionary = "DICT_APRILTAG_36h11"\nid = {tag.tag_id}\nsize_mm = {tag.size_mm}\n'
            f"centre_mm = {list(tag.centre_mm)}\nyaw_deg = {tag.yaw_deg}\n"
        )
    return "\n".join([*parts, *(_mould_text(mould) for mould in bench.moulds)])


def events(scene: Scene, end_s: float) -> list[tuple[str, str, str]]:
    """List what truly happened up to `end_s`: (time, mould, event), in order of time."""
    found: list[tuple[float, str, str]] = []
    before = ["empty"] * len(scene.bench.moulds)
    said: set[tuple[str, int]] = set()
    fills = [0] * len(before)
    for step in range(int(end_s / READY_STEP_S) + 1):
        time_s = step * READY_STEP_S
        for i, (mould, inside) in enumerate(zip(scene.bench.moulds, scene.insides(time_s), strict=True)):
            change = (before[i], inside.phase)
            word = _WORDS.get(inside.phase if change[0] != "topping_up" else "topped_up", "")
            if change[0] != change[1] and word:
                found.append((time_s, mould.name, word))
                fills[i] += word == "filling"
            window = mould.profile.target_wall_mm
            if inside.phase == "casting" and window and inside.wall_mm >= window[0]:
                if (mould.name, fills[i]) not in said:
                    said.add((mould.name, fills[i]))
                    found.append((time_s, mould.name, "ready"))
            before[i] = inside.phase
    found += [(bump.at_s, "", "camera_bump") for bump in scene.faults.bumps]
    found += [(nudge.at_s, nudge.mould, "nudged") for nudge in scene.faults.nudges]
    return [(f"{t:.2f}", name, what) for t, name, what in sorted(found) if t <= end_s]


_WORDS = {
    "filling": "filling",
    "casting": "filled",
    "topping_up": "topping_up",
    "topped_up": "topped_up",
    "tipped": "tipped",
    "empty": "demoulded",
}


def _mould_text(mould: SimMould) -> str:
    x, y = mould.card_xy_mm
    profile = mould.profile
    text = (
        f'[[mould]]\nname = "{mould.name}"\ntag_id = {mould.tag_id}\ntag_size_mm = {mould.tag_mm}\n'
        f"rim_centre_from_tag_mm = [{-x}, {-y}, {-CARD_LIFT_MM}]\n"
        f"bore = {[[float(a), float(b)] for a, b in profile.bore]}\n"
    )
    if profile.target_wall_mm is not None:
        text += f"target_wall_mm = {list(profile.target_wall_mm)}\n"
    if profile.trim_line_mm is not None:
        text += f"trim_line_mm = {profile.trim_line_mm}\n"
    plain = len(profile.holes) == 1 and not profile.holes[0].bore and profile.holes[0].axes_mm is None
    if not plain:
        holes = []
        for hole in profile.holes:
            keys = [f"centre_mm = {list(hole.centre_mm)}"]
            if hole.bore:
                keys.append(f"bore = {[[float(a), float(b)] for a, b in hole.bore]}")
            if hole.axes_mm is not None:
                keys.append(f"axes_mm = {list(hole.axes_mm)}")
            holes.append("{" + ", ".join(keys) + "}")
        text += f"holes = [{', '.join(holes)}]\n"
    return text


def _truth_rows(scene: Scene, time_s: float) -> list[tuple[str, ...]]:
    faults, view = scene.faults, scene.faults.view(scene.bench, time_s)
    seats, hands = faults.seats(scene.bench, time_s), faults.hands_now(time_s)
    out: list[tuple[str, ...]] = []
    for mould, seat, inside in zip(scene.bench.moulds, seats, scene.insides(time_s), strict=True):
        hidden = faults.hidden_holes(mould.name, len(mould.profile.holes), time_s)
        covers, froth = faults.covers_now(mould.name, time_s), faults.froth_now(mould.name, time_s)
        share = seen_share(view, mould, seat, inside, hands, hidden) if inside.phase != "filling" else 0.0
        level = "" if inside.level_mm is None else f"{inside.level_mm:.3f}"
        hand = hand_covers(view, mould, seat, hands)
        flags = (str(int(flag)) for flag in (hand, bool(covers), froth is not None))
        seen = (str(int(share > 0)), f"{share:.3f}", *flags)
        out.append((f"{time_s:.2f}", mould.name, inside.phase, level, f"{inside.wall_mm:.4f}", *seen))
    return out


def _table(path: Path, head: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    with path.open("w", newline="", encoding="utf-8") as f:
        writer = csv.writer(f, lineterminator="\n")
        writer.writerow(head)
        writer.writerows(rows)
