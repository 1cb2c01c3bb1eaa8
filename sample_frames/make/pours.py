"""Pours at close hand: sessions of three moulds filled one after the other, with the stream's truth.

`python render.py OUT --set pours` writes beside the usual papers `streams.csv`: for every picture in which a
stream falls, where it crosses the rim's level, in mm from the hole's centre in the bench frame.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
from casting import Cast, Slip
from optics import Sensor
from parts import CLAYS, lens_of, light_of
from story import Clay, HandPass, Session
from varied import placed_parts

# name, size, phi, clay, light, bores, K, bench, how the three are poured, with hands
TABLE = (
    ("pour1", "hd", 44, "cream", "window", (62, 44, 86), 1.2, "ply", ("stays", "circles", "sweeps"), False),
    ("pour2", "hd", 48, "white", "back window", (54, 92, 38), 0.9, "oak", ("circles", "stays", "half"), True),
    ("pour3", "svga", 40, "red", "lamp", (74, 56, 98), 1.4, "slate", ("half", "sweeps", "stays"), True),
    ("pour4", "hd", 36, "grey", "window", (48, 70, 58), 1.0, "tiles", ("away", "stays", "circles"), False),
)
POUR_S, BEFORE_S, EVERY_S, BETWEEN_S = 40.0, 12.0, 2.0, 16.0


def way(how: str, radius: float, toward: np.ndarray, rng: np.random.Generator):
    """Places of the stream, {seconds into the pour: (x, y)}, for one way of pouring; mm from the centre."""
    t = np.arange(0.0, POUR_S + 0.1, 0.5)
    side = np.array([-toward[1], toward[0]])
    start = rng.uniform(-0.45, 0.45, 2) * radius
    shake = np.cumsum(rng.normal(0.0, 0.25, (t.size, 2)), axis=0) * 0.3
    round_ = np.outer(np.cos(t * 2 * np.pi / 9.0), side) + np.outer(np.sin(t * 2 * np.pi / 9.0), toward)
    swing = np.outer(np.sin(t * 2 * np.pi / 7.0), side)
    away = np.outer(np.sin(t * 2 * np.pi / 7.0), toward)
    if how == "stays":
        xy = start + shake
    elif how == "circles":
        xy = 0.5 * radius * round_ + 0.4 * shake
    elif how == "sweeps":
        xy = 0.55 * radius * swing + 0.4 * shake
    elif how == "away":
        xy = 0.5 * radius * away + 0.4 * shake
    else:  # half: on one spot for the first half, then moving
        xy = np.where((t < POUR_S / 2)[:, None], start + 0.5 * shake, 0.5 * radius * swing)
    return tuple((float(a), float(b), float(c)) for a, (b, c) in zip(t, xy, strict=True))


def session_of(row, seed: int) -> Session:
    """One session of the table."""
    name, size, _, clay, light, _bores, k, bench, hows, with_hands = row
    rng = np.random.default_rng(seed)
    lens = lens_of(size, rng)
    parts, pose, sheet, sheet_half = placed_parts(rng, row[:8], lens)
    t, casts, streams, hands = BEFORE_S, [], [], []
    for part, how in zip(parts, hows, strict=True):
        place = part.places[0]
        ahead = np.array([place.x, place.y]) - np.array(pose.eye[:2])
        toward = ahead / np.linalg.norm(ahead)
        radius = part.cavity.bore[0][1] / 2.0
        casts.append(Cast(t, t + POUR_S, k, 0.2, 0.1, float(rng.uniform(1.5, 3.5))))
        streams.append((part.name, t, way(how, radius, toward, rng)))
        if with_hands:
            hands.append(
                HandPass(
                    t - 1.0, t + POUR_S + 3.0, (place.x + 150.0, place.y + 45.0, part.height + 95.0), 172.0
                )
            )
        t += POUR_S + BETWEEN_S
    parts = [replace(p, casts=(c,)) for p, c in zip(parts, casts, strict=True)]
    lights = light_of(light, rng)
    soft = size == "svga"
    return Session(
        name, seed, "2026-05-12T09:00:00Z", f"{clay} slip, {light}, {size}; poured: {', '.join(hows)}.", lens,
        ((0.0, pose),),
        Sensor(1.0, 900.0 if soft else 4000.0, 6.0, (1.0, 1.0, 1.0), 0.01, 0.005, 0.12, 72 if soft else 86),
        sheet, sheet_half, Slip(1.76, 0.637),
        Clay(CLAYS[clay], 0.12, 0.3, 0.92, 0.8, 1.6), lights, tuple(parts),
        tuple(float(v) for v in np.arange(1.0, t, EVERY_S)), tuple(hands), bench,
        streams=tuple(streams),
    )  # fmt: skip


def sessions(only: list[str] | None = None) -> Iterator[Session]:
    """All sessions, or those named."""
    for k, row in enumerate(TABLE):
        if not only or row[0] in only:
            yield session_of(row, 7300 + k)


def write_streams(session: Session, folder: Path) -> None:
    """Write where every stream falls at the moment of each picture."""
    with (folder / "streams.csv").open("w", newline="") as f:
        table = csv.writer(f, lineterminator="\n")
        table.writerow(("time_s", "mould", "x_mm", "y_mm"))
        for t in session.times:
            for part in session.moulds:
                at = session.stream_at(part.name, t)
                cast = part.casts[0]
                if at is not None and cast.fill_from_s <= t < cast.filled_s:
                    table.writerow((f"{t:.2f}", part.name, f"{at[0]:.2f}", f"{at[1]:.2f}"))
