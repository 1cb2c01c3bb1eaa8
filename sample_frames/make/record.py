"""Writes a recording folder: settings, truth, events, and the list of what to render."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
from casting import Mould, run_mould
from sight import hand_over_hole, seen_share
from story import Session


def integrate(session: Session) -> dict:
    """Run every mould's casts; {name: Run}."""
    runs = {}
    for k, part in enumerate(session.moulds):
        mould = Mould(part.cavity, session.slip, part.target_mm, uneven=0.03 if k % 2 else 0.0)
        mould.wanted = wanted_mm(session, part)
        runs[part.name] = run_mould(mould, list(part.casts), session.times[-1] + 60)
    return runs


def wanted_mm(session: Session, part) -> float:
    """Wall that the recording asks for, in mm."""
    return round(session.wanted_share * part.target_mm, 2)


def card_offset(part) -> tuple[float, float, float]:
    """Rim centre from the tag's centre in the tag's own axes."""
    d = np.subtract(part.hole_xy, part.card_xy)
    a = np.radians(part.card_yaw_deg)
    x, y = np.cos(a) * d[0] + np.sin(a) * d[1], -np.sin(a) * d[0] + np.cos(a) * d[1]
    return float(x), float(y), -0.35


def settings_text(session: Session) -> str:
    """recording.toml."""
    lens = session.lens
    d = ", ".join(f"{v:.5f}" for v in lens.distortion)
    out = [
        f'[clock]\nstart = "{session.start}"\n',
        f"[camera]\nwidth = {lens.width}\nheight = {lens.height}\nfx = {lens.f:.3f}\nfy = {lens.f:.3f}\n"
        f"cx = {lens.cx:.3f}\ncy = {lens.cy:.3f}\ndistortion = [{d}]\n",
        f"[slip]\nspecific_gravity = {session.slip.specific_gravity}\n"
        f"cake_solids_fraction = {session.slip.cake_solids_fraction}\n",
    ]
    if session.up != (0.0, 0.0, 1.0):
        out.append("[bench]\nup = [" + ", ".join(f"{v:.6f}" for v in session.up) + "]\n")
    for tag_id, size, (x, y) in session.sheet:
        centre, turn = (x, y, 0.0), "yaw_deg = 0.0"
        if session.strip:
            centre, turn = (x, session.wall_y - 1.0, y), "rotation_deg = [90.0, 0.0, 0.0]"
        middle = ", ".join(f"{v:.1f}" for v in centre)
        out.append(
            f'[[sheet]]\ndictionary = "DICT_APRILTAG_36h11"\nid = {tag_id}\nsize_mm = {size:.1f}\n'
            f"centre_mm = [{middle}]\n{turn}\n"
        )
    for part in session.moulds:
        off = ", ".join(f"{v:.3f}" for v in card_offset(part))
        bore = ", ".join(f"[{a:.1f}, {b:.1f}]" for a, b in part.cavity.bore)
        where = f"tag_id = {part.tag_id}\ntag_size_mm = {part.tag_mm:.1f}\nrim_centre_from_tag_mm = [{off}]"
        if not session.cards:
            where = f"place_mm = [{part.places[0].x:.3f}, {part.places[0].y:.3f}, {part.height:.3f}]"
        wanted = wanted_mm(session, part)
        out.append(f'[[mould]]\nname = "{part.name}"\n{where}\nbore = [{bore}]\ntarget_wall_mm = {wanted}\n')
    return "\n".join(out)


def truth_rows(session: Session, runs: dict) -> tuple[list, list]:
    """Rows of truth.csv and truth_pose.csv."""
    truth, pose = [], []
    for t in session.times:
        hands = [h for h in session.hands if h.from_s <= t < h.to_s]
        for part in session.moulds:
            place, moment = part.place_at(t), runs[part.name].at(t)
            phase = "absent" if moment.phase == "empty" and place.state == "out" else moment.phase
            share, _ = seen_share(session, part, moment, t, hands)
            if phase == "filling":
                share = 0.0
            standing = moment.level_mm is not None
            truth.append(
                [
                    f"{t:.2f}",
                    part.name,
                    phase,
                    f"{moment.level_mm:.3f}" if standing else "",
                    f"{moment.wall_mm:.4f}",
                    int(share > 0),
                    f"{share:.3f}",
                    f"{moment.free_radius_mm:.3f}" if standing else "",
                    int(hand_over_hole(session, part, t, hands)),
                ]
            )
            here = (place.x, place.y, part.height) if place.state == "in" else (np.nan,) * 3
            pose.append(
                [f"{t:.2f}", part.name, place.state, *(f"{v:.3f}" for v in here), f"{place.yaw_deg:.3f}"]
            )
    return truth, pose


def event_rows(session: Session, runs: dict, truth: list) -> list:
    """All events in order of time."""
    rows = [(t, name, what) for name, run in runs.items() for t, what in run.events if t <= session.times[-1]]
    rows += list(session.events)
    lost, hidden = set(), set()
    for t, name, phase, level, _, seen, *_rest, hand in truth:
        if phase == "casting" and not hand and not seen and name not in lost:
            lost.add(name)
            rows.append((float(t), name, "level_out_of_sight"))
        if seen:
            lost.discard(name)
        if hand and name not in hidden and level:
            hidden.add(name)
            rows.append((float(t), name, "occlusion_start"))
        elif not hand and name in hidden:
            hidden.discard(name)
            rows.append((float(t), name, "occlusion_end"))
    return [(f"{t:.2f}", name, what) for t, name, what in sorted(rows)]


def table(path: Path, head: list[str], rows: list) -> None:
    """One CSV file."""
    with open(path, "w", newline="") as f:
        writer = csv.writer(f, lineterminator="\n")
        writer.writerow(head)
        writer.writerows(rows)


def write_papers(session: Session, runs: dict, folder: Path, settings: str) -> None:
    """Everything of the recording but its pictures."""
    (folder / "frames").mkdir(parents=True, exist_ok=True)
    (folder / "recording.toml").write_text(settings_text(session))
    frames = [(f"frames/{k:06d}.jpg", f"{t:.2f}") for k, t in enumerate(session.times)]
    table(folder / "frames.csv", ["file", "time_s"], frames)
    truth, pose = truth_rows(session, runs)
    table(
        folder / "truth.csv",
        [
            "time_s",
            "mould",
            "phase",
            "level_mm",
            "wall_mm",
            "visible",
            "visible_fraction",
            "free_radius_mm",
            "hand",
        ],
        truth,
    )
    table(
        folder / "truth_pose.csv",
        ["time_s", "mould", "state", "rim_x_mm", "rim_y_mm", "rim_z_mm", "yaw_deg"],
        pose,
    )
    table(folder / "events.csv", ["time_s", "mould", "event"], event_rows(session, runs, truth))
    (folder / "about.md").write_text(f"# {session.name}\n\n{session.about}\n\n{settings}\n")
