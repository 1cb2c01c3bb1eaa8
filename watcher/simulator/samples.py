"""Simulated benches that can be drawn at once: for tests, soak runs and trying things."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from models.mould import Bore, MouldProfile, PourHole
from watcher.records.layout import Lens, SheetTag
from watcher.simulator.bench import Seat, SimBench, SimMould
from watcher.simulator.truth import SimCast
from watcher.simulator.viewing import looking_at

POTS: tuple[tuple[str, Bore, float, float], ...] = (
    # name, bore, target wall, height over the bench
    ("tea cup", ((0, 80), (18, 74), (22, 68), (60, 66), (74, 44)), 2.2, 98.0),
    ("vinegar bottle", ((0, 38), (22, 33), (36, 30), (64, 66), (110, 72), (132, 56)), 2.4, 156.0),
    ("sauce bowl", ((0, 100), (16, 95), (20, 90), (44, 90), (66, 58)), 2.6, 92.0),
    ("pencil pot", ((0, 64), (18, 59), (24, 54), (84, 54), (92, 44)), 2.3, 116.0),
    ("sugar jar", ((0, 74), (20, 68), (27, 62), (60, 84), (92, 66)), 2.5, 118.0),
    ("taper holder", ((0, 48), (18, 43), (26, 40), (54, 60), (78, 46)), 2.2, 102.0),
)
PLACES = ((-255, 40), (-120, 250), (255, 60), (85, 262), (262, 262), (-300, 232))


def sample_bench(
    moulds: int = 4, *, width_px: int = 1280, height_px: int = 720, gap_s: float = 90.0, seed: int = 1
) -> SimBench:
    """Return a bench of 1 to 6 household moulds, poured one after the other every `gap_s` seconds."""
    if not 1 <= moulds <= len(POTS):
        raise ValueError(f"a sample bench has 1 to {len(POTS)} moulds, not {moulds}")
    rng = np.random.default_rng(seed)
    focal = 0.82 * width_px
    middle = ((width_px - 1) / 2, (height_px - 1) / 2)
    lens = Lens(width_px, height_px, focal, focal, *middle, (-0.08, 0.03, 0.0003, -0.0004, 0.0))
    view = looking_at(lens, (15.0, -480.0, 640.0), (0.0, 118.0, 70.0))
    ids = (310, 311, 312, 313)
    corners = ((-55.0, 40.0), (55.0, 40.0), (-55.0, -40.0), (55.0, -40.0))
    sheet = tuple(SheetTag(i, 50.0, (x, y, 0.0)) for i, (x, y) in zip(ids, corners, strict=True))
    made = []
    for k in range(moulds):
        name, bore, target, height = POTS[k]
        profile = MouldProfile(name, bore, target_wall_mm=(target, 1.1 * target))
        start = 40.0 + gap_s * k
        cast = SimCast(start, start + 40.0, float(rng.uniform(0.5, 1.1)))
        seat = Seat(float(PLACES[k][0]), float(PLACES[k][1]), float(rng.uniform(-6, 6)))
        tag_mm, half = 28.0, max(radius for _, radius in bore) / 2 + 34.0
        card = bore[0][1] / 2 + 6.0 + tag_mm * 0.7
        half = max(half, card + tag_mm * 0.72)
        made.append(SimMould(profile, (cast,), seat, height, half, k % 2 == 1, 320 + k, tag_mm, (0.0, -card)))
    return SimBench("bench", view, sheet, tuple(made), seed=seed)


def odd_bench(*, width_px: int = 1280, height_px: int = 720, seed: int = 1) -> SimBench:
    """Return a bench of two moulds: one with an oval pour hole, one with two round ones side by side."""
    plain = sample_bench(2, width_px=width_px, height_px=height_px, seed=seed)
    oval: Bore = ((0, 92), (18, 85), (24, 79), (60, 77), (72, 60))
    dish = MouldProfile("butter boat", oval, (PourHole(axes_mm=(92.0, 60.0)),), (2.2, 2.42))
    neck: Bore = ((0, 44), (20, 39), (34, 36))
    body: Bore = ((0, 150), (34, 150), (70, 152), (96, 120))
    pair = (PourHole((-42.0, 0.0), neck), PourHole((42.0, 0.0), neck))
    twin = MouldProfile("twin flask", body, pair, (2.4, 2.64), trim_line_mm=34.0)
    casts = (SimCast(40.0, 80.0, 0.8), SimCast(120.0, 170.0, 0.7))
    first = SimMould(dish, casts[:1], Seat(-215.0, 90.0, 12.0), 100.0, 84.0, False, 330, 28.0, (0.0, -62.0))
    second = SimMould(twin, casts[1:], Seat(200.0, 180.0, -8.0), 124.0, 106.0, True, 331, 28.0, (0.0, -62.0))
    return replace(plain, moulds=(first, second))


def crowded_bench(rows: int = 4, columns: int = 6, *, seed: int = 1) -> SimBench:
    """Return a bench of many small alike moulds before a 1920x1080 camera, poured in two goes."""
    if not (1 <= rows <= 4 and 1 <= columns <= 6):
        raise ValueError(f"a crowded bench has up to 4 rows of 6, not {rows} of {columns}")
    lens = Lens(1920, 1080, 1720.0, 1720.0, 959.5, 539.5, (-0.05, 0.02, 0.0002, -0.0002, 0.0))
    view = looking_at(lens, (0.0, -640.0, 1050.0), (0.0, 175.0, 40.0))
    ids, corners = (400, 401, 402, 403), ((-230.0, 0.0), (-75.0, 0.0), (75.0, 0.0), (230.0, 0.0))
    sheet = tuple(SheetTag(i, 60.0, (x, y - 55.0, 0.0)) for i, (x, y) in zip(ids, corners, strict=True))
    rng, made = np.random.default_rng(seed), []
    for k in range(rows * columns):
        row, column = divmod(k, columns)
        wide = float(rng.integers(44, 52))
        bore: Bore = ((0, wide), (16, wide - 5), (22, wide - 8), (58, wide - 6), (66, wide - 18))
        profile = MouldProfile(f"cup {k + 1}", bore, target_wall_mm=(2.0, 2.2))
        start = 30.0 + 8.0 * k
        cast = SimCast(start, start + 30.0, float(rng.uniform(0.5, 1.1)))
        seat = Seat(150.0 * (column - (columns - 1) / 2), 70.0 + 132.0 * row, float(rng.uniform(-3, 3)))
        made.append(SimMould(profile, (cast,), seat, 86.0, 62.0, False, 410 + k, 30.0, (0.0, -43.0)))
    return SimBench("bench", view, sheet, tuple(made), seed=seed)
