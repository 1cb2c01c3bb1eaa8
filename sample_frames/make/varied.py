"""Many different benches: a table of what to vary, and the sessions made of it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from casting import Cast, Slip
from optics import Sensor, bumped, look_at
from parts import CLAYS, NAMES, lens_of, light_of, mould, ready_time, settle
from story import Clay, HandPass, Place, Session

# name, size, phi, clay, light, bores, K, bench, extras
TABLE = (
    ("r01", "hd", 45, "cream", "window", (60, 38, 84, 50), 1.2, "ply", ""),
    ("r02", "hd", 38, "white", "window", (72, 30, 55), 0.8, "slate", "hand"),
    ("r03", "hd", 50, "red", "back window", (46, 90, 64, 34), 2.0, "tiles", "hand topup"),
    ("r04", "svga", 42, "cream", "lamp", (70, 52, 88), 1.5, "canvas", "noisy soft"),
    ("r05", "vga", 40, "buff", "window", (78, 60, 96), 1.0, "oak", "noisy soft"),
    ("r06", "fhd", 48, "white", "back window", (26, 44, 62, 80, 36), 1.0, "steel", "hand"),
    ("r07", "hd", 30, "grey", "window", (40, 58, 30), 0.7, "ply", ""),
    ("r08", "hd", 53, "pink", "front window", (104, 66, 48, 76), 2.6, "speck", "bump"),
    ("r09", "hd", 44, "cream", "sun", (64, 42, 86), 1.4, "ply", "sun"),
    ("r10", "hd", 46, "brown", "dim", (56, 74, 40), 1.1, "oak", "noisy"),
    ("r11", "svga", 36, "white", "lamp switched", (50, 82, 36), 0.9, "slate", "lamp hand"),
    ("r12", "hd", 27, "cream", "back window", (24, 34, 50), 0.5, "canvas", ""),
    ("r13", "hd", 47, "red", "window", (110, 58, 70), 4.2, "steel", "nudge hand"),
    ("r14", "fhd", 34, "black", "window", (46, 68, 28, 90), 1.3, "tiles", "topup"),
    ("r15", "vga", 48, "white", "lamp", (92, 66), 1.8, "speck", "noisy soft hand"),
    ("r16", "hd", 41, "white", "dim", (38, 54, 72, 88, 30, 62), 0.6, "ply", "noisy hand"),
    ("r17", "hd", 51, "buff", "window", (32, 22, 42), 0.8, "oak", "hand"),
    ("r18", "fhd", 43, "cream", "lamp", (56, 80, 40, 100), 3.0, "slate", "tip hand"),
    ("r19", "svga", 50, "grey", "back window", (62, 44, 84), 2.2, "tiles", "bump nudge"),
    ("r20", "hd", 35, "pink", "window", (48, 28, 74, 60), 1.0, "speck", "tip topup"),
    ("r21", "hd", 45, "white", "sun", (52, 76, 34, 94), 1.6, "canvas", "sun hand"),
    ("r22", "hd", 40, "red", "lamp switched", (66, 46, 30), 5.0, "ply", "lamp noisy"),
)
SPECIAL = (
    ("s1_no_cards", "hd", 45, "cream", "window", (62, 40, 86), 1.3, "slate", "nocards hand"),
    ("s2_slope", "hd", 44, "buff", "window", (58, 36, 92), 1.2, "ply", "slope"),
    ("s3_wall_tags", "hd", 50, "white", "window", (56, 82, 36), 1.0, "oak", "strip hand"),
)
WHOLE = (  # whole casts, to a little past the last one that is ready
    ("whole1", "hd", 40, "white", "back window", (64, 40, 90, 52), 0.8, "oak", ""),
    ("whole2", "hd", 48, "buff", "window", (34, 46, 58, 76), 1.0, "slate", "hand topup drips"),
    ("whole3", "hd", 36, "cream", "window", (54, 28, 72), 0.9, "ply", ""),
    ("whole4", "hd", 52, "grey", "front window", (60, 84, 44), 1.4, "canvas", "hand nudge"),
    ("whole5", "svga", 40, "white", "lamp", (80, 58, 94), 1.0, "tiles", "noisy soft"),
    ("whole6", "hd", 30, "red", "back window", (36, 52, 26, 66), 0.7, "steel", "hand drips"),
    ("whole7", "vga", 44, "pink", "window", (90, 70), 1.2, "speck", "noisy soft"),
    ("whole8", "hd", 45, "brown", "dim", (48, 70, 38, 84), 0.9, "oak", "noisy tip"),
)
LONG = (
    ("long1", "hd", 46, "cream", "window", (58, 36, 82, 48), 1.1, "oak", "hand tip"),
    ("long2", "hd", 42, "white", "window", (68, 44, 30, 88), 0.9, "tiles", "hand topup bump"),
    ("long3", "svga", 44, "red", "lamp switched", (74, 50, 60), 1.0, "steel", "noisy soft lamp hand"),
    ("long4", "hd", 38, "cream", "dim", (40, 26, 54, 34), 0.7, "slate", "noisy hand nudge"),
)


def placed_parts(rng, row, lens):
    """Moulds that stand well on this bench, and the camera that sees them."""
    _, size, phi, _, _, bores, *_ = row
    tag_mm = {"vga": 36.0, "svga": 30.0, "hd": 26.0, "fhd": 24.0}[size]
    sheet_half = (82.0, 62.0) if size in ("hd", "fhd") else (95.0, 75.0)
    sheet_tag = 50.0 if size in ("hd", "fhd") else 56.0
    tags = rng.choice(np.arange(30, 587), len(bores) + 4, replace=False)
    names = rng.choice(NAMES, len(bores), replace=False)
    for attempt in range(60):
        distance = lens.f / lens.width * rng.uniform(700, 830) + attempt * 4 + 40 * max(0, len(bores) - 4)
        tilt = np.radians(phi + rng.uniform(-2, 2))
        aim = np.array([rng.uniform(-15, 15), 120 + rng.uniform(-15, 15), 70])
        eye = aim + distance * np.array([rng.uniform(-0.1, 0.1), -np.sin(tilt), np.cos(tilt)])
        pose = look_at(eye, aim, rng.uniform(-3, 3))
        parts = [
            mould(rng, str(n), int(t), tag_mm, float(b)) for n, t, b in zip(names, tags, bores, strict=False)
        ]
        corners = np.array([[sx * sheet_half[0], sy * sheet_half[1], 0] for sx in (-1, 1) for sy in (-1, 1)])
        px = pose.project(lens, corners)
        if (px < 4).any() or (px > (lens.width - 4, lens.height - 4)).any():
            continue
        places = settle(rng, parts, pose, lens, sheet_half)
        if places:
            parts = [replace(p, places=(Place(0.0, *at),)) for p, at in zip(parts, places, strict=True)]
            x, y = sheet_half[0] - sheet_tag * 0.62, sheet_half[1] - sheet_tag * 0.56
            sheet = tuple(
                (int(tags[-1 - k]), sheet_tag, (round(sx * x, 1), round(sy * y, 1)))
                for k, (sx, sy) in enumerate([(-1, 1), (1, 1), (-1, -1), (1, -1)])
            )
            return parts, pose, sheet, sheet_half
    raise RuntimeError(f"no room for the moulds of {row[0]}")


def hand_over(rng, part, pose, t0, t1) -> HandPass:
    """Return a hand between the camera and a pour hole."""
    place = part.place_at(t0)
    rim = np.array([place.x, place.y, part.height])
    ray = np.array(pose.eye) - rim
    at = rim + ray / np.linalg.norm(ray) * rng.uniform(55, 90)
    at[:2] += rng.uniform(-8, 8, 2)
    yaw = rng.choice([90 + rng.uniform(-35, 35), 150 + rng.uniform(-15, 15), 30 + rng.uniform(-15, 15)])
    turn = np.array([np.cos(np.radians(yaw)), np.sin(np.radians(yaw)), 0.0])
    return HandPass(t0, t1, tuple(float(v) for v in at - turn * 15), float(yaw), float(rng.uniform(5, 18)))


def session_of(row, seed: int, long: bool) -> Session:
    """One session of the table."""
    name, size, _, clay, light, _bores, k, bench, extras = row
    rng = np.random.default_rng(seed)
    lens = lens_of(size, rng)
    parts, pose, sheet, sheet_half = placed_parts(rng, row, lens)
    solids = rng.uniform(0.61, 0.66)
    slip = Slip(round(float(rng.uniform(1.72, 1.82)), 3), round(float(solids), 4))
    t, casts = rng.uniform(42, 60), []
    for _ in parts:
        filled = t + rng.uniform(30, 60)
        casts.append(
            Cast(
                round(t),
                round(filled),
                k * float(rng.uniform(0.8, 1.25)),
                float(rng.uniform(0.05, 0.5)),
                float(rng.uniform(0.08, 0.16)),
                float(rng.uniform(1.2, 3.5)),
            )
        )
        t = filled + rng.uniform(18, 50)
    ready = [ready_time(p, slip, c) for p, c in zip(parts, casts, strict=True)]
    end = min(1.15 * max(ready), casts[-1].filled_s + 3000)
    times = (
        list(
            np.arange(rng.uniform(3, 12), min(end, 1288.0), 27.0)
            if not name.startswith("whole")
            else np.arange(rng.uniform(3, 12), end, max(25.0, end / 44))
        )
        if long
        else [
            4.0,
            26.0,
            (casts[0].fill_from_s + casts[0].filled_s) / 2,
            *[c.filled_s + 7 for c in casts],
            *(np.linspace(casts[-1].filled_s, end, 8)[1:]),
        ]
    )
    first = int(np.argmin(ready))
    poses, hands, events, lights = [(0.0, pose)], [], [], light_of(light, rng)
    late = [x for x in times if x > casts[-1].filled_s + 5]
    if "topup" in extras:
        at = late[len(late) // 3] - 30
        j = int(rng.integers(len(parts)))
        casts[j] = replace(casts[j], top_ups=((round(at), round(at) + 20),))
    if "tip" in extras:
        tip = min(ready[first] + 40, late[-3] - 5)
        gone, back = tip + 3, late[-1] - 5
        casts[first] = replace(casts[first], tip_s=round(tip))
        was = parts[first].places[0]
        seat = "flipped" if rng.random() < 0.5 else "in"
        parts[first] = replace(
            parts[first],
            places=(
                was,
                Place(gone, was.x, was.y, was.yaw_deg, "out"),
                Place(min(gone + 45, back), was.x + 4, was.y - 3, was.yaw_deg + 9.0, seat),
            ),
        )
        events += [
            (gone, parts[first].name, "lifted_out"),
            (min(gone + 45, back), parts[first].name, "put_down_" + seat),
        ]
    if "nudge" in extras:
        at, j = late[len(late) // 2] - 4, int(rng.integers(len(parts)))
        was = parts[j].places[-1]
        parts[j] = replace(
            parts[j],
            places=(
                *parts[j].places,
                Place(
                    at,
                    was.x + rng.uniform(-7, 7),
                    was.y + rng.uniform(-7, 7),
                    was.yaw_deg + rng.uniform(-6, 6),
                ),
            ),
        )
        events.append((at, parts[j].name, "nudged"))
    if "bump" in extras:
        at = late[len(late) // 2] - 9
        poses.append((at, bumped(pose, rng.uniform(-14, 14, 3), rng.uniform(-1.6, 1.6, 3))))
        events.append((at, "", "camera_bump"))
    if "hand" in extras:
        for x in rng.choice(late[1:], max(2, len(times) // 7), replace=False):
            j = int(rng.integers(len(parts)))
            if parts[j].place_at(x).state == "in":
                hands.append(hand_over(rng, parts[j], pose, x - 8, x + (20 if not long else 14)))
    if "lamp" in extras and light == "lamp switched":
        on, off, again = late[len(late) // 4] - 6, late[len(late) // 2] - 6, late[-2] - 6
        lights = replace(lights, lamp_on=((on, off), (again, 1e9)))
        events += [
            (on, "", "light_change lamp on"),
            (off, "", "light_change lamp off"),
            (again, "", "light_change lamp on"),
        ]
    noisy = "noisy" in extras
    sensor = Sensor(
        rng.uniform(0.9, 1.2) * {"lamp switched": 0.55, "sun": 1.7}.get(light, 1.0),
        700.0 if noisy else rng.uniform(2500, 6000),
        9.0 if noisy else 5.0,
        tuple(float(v) for v in rng.uniform(0.93, 1.07, 3)),
        float(rng.uniform(0.005, 0.04)),
        float(rng.uniform(0.002, 0.03)),
        float(rng.uniform(0.05, 0.25)),
        int(rng.integers(62, 75) if "soft" in extras else rng.integers(80, 92)),
        float(rng.uniform(0.4, 0.8)) if "soft" in extras else 0.0,
    )
    look = Clay(
        CLAYS[clay],
        float(rng.uniform(0.08, 0.2)),
        float(rng.uniform(0.22, 0.4)),
        float(rng.uniform(0.86, 1.0)),
        float(rng.uniform(0.5, 1.1)),
        float(rng.uniform(1.2, 1.9)),
        *((0.05, 7) if "drips" in extras else ()),
    )
    things = tuple(
        rng.choice(
            ["bucket", "sponge", "stick", "bowl", "cup", "cloth"], int(rng.integers(2, 6)), replace=False
        )
    )
    parts = [replace(p, casts=(c,)) for p, c in zip(parts, casts, strict=True)]
    about = f"{clay} slip, {light}, phi about {row[2]} deg, {size}, K about {k} mm2/min; {extras or 'calm'}."
    wall_y = float(rng.uniform(520, 700))
    more = {"cards": "nocards" not in extras}
    if "slope" in extras:
        lean = np.array([np.sin(np.radians(1.3)), -np.sin(np.radians(1.5)), 1.0])
        more["up"] = tuple(round(float(v), 6) for v in lean / np.linalg.norm(lean))
    if "strip" in extras:
        wall_y = 455.0
        more["strip"] = True
        sheet = tuple(
            (tag_id, 50.0, (float(x), 92.0))
            for (tag_id, *_), x in zip(sheet, (-255, -85, 85, 255), strict=True)
        )
    return Session(
        name,
        seed,
        f"2026-05-{1 + seed % 28:02d}T09:{seed % 60:02d}:00Z",
        about,
        lens,
        tuple(poses),
        sensor,
        sheet,
        sheet_half,
        slip,
        look,
        lights,
        tuple(parts),
        tuple(round(float(x), 2) for x in sorted(times)),
        tuple(hands),
        bench,
        tuple(float(v) for v in rng.uniform(0.25, 0.7, 3)),
        wall_y,
        tuple(float(v) for v in np.array([0.60, 0.36, 0.26]) * rng.uniform(0.25, 1.1)),
        tuple(float(v) for v in rng.uniform(0.02, 0.4, 3)),
        things,
        tuple(events),
        0.7 if "soft" in extras else float(rng.uniform(0.35, 0.6)),
        **more,
    )


def sessions(only: list[str] | None = None) -> Iterator[Session]:
    """All sessions (or those named), short ones first."""
    for k, row in enumerate(TABLE + LONG + SPECIAL + WHOLE):
        if not only or row[0] in only:
            yield session_of(row, 9100 + k, row[0].startswith(("long", "whole")))
