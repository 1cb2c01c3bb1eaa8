"""Benches of the simulator as a proof needs them: a recording with its truth, and a long day of casts."""

from __future__ import annotations

import csv
from dataclasses import replace
from pathlib import Path

from watcher.records.layout import Lens
from watcher.simulator.bench import SimBench, SimMould
from watcher.simulator.recorder import write_recording
from watcher.simulator.samples import crowded_bench, sample_bench
from watcher.simulator.scene import Scene
from watcher.simulator.truth import SimCast

DRAWN_MOULDS = 4
DRAWN_EVERY_S, DRAWN_FRAMES = 20.0, 75
POSE = ("time_s", "mould", "state", "rim_x_mm", "rim_y_mm", "rim_z_mm", "yaw_deg")

CAST_S, POUR_S, EMPTY_S = 1500.0, 40.0, 300.0
"""A long day: a mould stands full for so long, is poured in so long, and rests empty for so long. [s]"""


def write_drawn(folder: Path) -> None:
    """Write a drawn recording with its truth, the moulds' places included."""
    scene = Scene(sample_bench(DRAWN_MOULDS))
    times = [5.0 + DRAWN_EVERY_S * k for k in range(DRAWN_FRAMES)]
    write_recording(scene, folder, times)
    with (folder / "truth_pose.csv").open("w", newline="", encoding="utf-8") as file:
        table = csv.writer(file, lineterminator="\n")
        table.writerow(POSE)
        for time_s in times:
            seats = scene.faults.seats(scene.bench, time_s)
            for mould, seat in zip(scene.bench.moulds, seats, strict=True):
                state = "in" if seat.there else "out"
                place = (seat.x_mm, seat.y_mm, mould.height_mm, seat.yaw_deg)
                table.writerow((f"{time_s:.2f}", mould.name, state, *(f"{v:.3f}" for v in place)))


def long_day(last_s: float) -> SimBench:
    """Return six moulds that are poured, cast, tipped and poured again until `last_s`."""
    bench = sample_bench(6)
    moulds = tuple(_all_day(mould, 40.0 + 90.0 * k, last_s) for k, mould in enumerate(bench.moulds))
    return replace(bench, moulds=moulds)


def smaller(bench: SimBench, width_px: int, height_px: int) -> SimBench:
    """Return the same bench before a camera of the same view with fewer pixels."""
    lens = bench.view.lens
    scale = width_px / lens.width_px
    middle = ((lens.cx_px + 0.5) * scale - 0.5, (lens.cy_px + 0.5) * scale - 0.5)
    less = Lens(width_px, height_px, lens.fx_px * scale, lens.fy_px * scale, *middle, lens.distortion)
    return replace(bench, view=replace(bench.view, lens=less))


def benches_to_time() -> tuple[SimBench, ...]:
    """Return the benches whose looks are timed, each poured within a few minutes."""
    small = [sample_bench(n, gap_s=10.0) for n in (1, 2, 4, 6)]
    crowd = smaller(crowded_bench(), 1280, 720)
    large = sample_bench(6, width_px=1920, height_px=1080, gap_s=10.0)
    crowds = [crowded_bench(rows) for rows in (1, 2, 4)]
    return (*small, crowd, large, *crowds)


def _all_day(mould: SimMould, first_s: float, last_s: float) -> SimMould:
    first, at_s = mould.casts[0], first_s
    casts: list[SimCast] = []
    while at_s < last_s or not casts:
        full_s = at_s + POUR_S
        cast = SimCast(
            at_s, full_s, first.k_mm2_per_min, tip_s=full_s + CAST_S, clean_s=full_s + CAST_S + EMPTY_S / 2.0
        )
        casts.append(cast)
        at_s = full_s + CAST_S + EMPTY_S
    return replace(mould, casts=tuple(casts))
