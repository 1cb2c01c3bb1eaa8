"""Years of watching: old readings thin out, pictures keep to their budget, a copy is made each day."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import cv2
import numpy as np
from bench_stories import CAST_STEPS, at, story

from watcher.clock import ToldClock
from watcher.records.frames import Frame
from watcher.records.readings import HoleSighting, Missed
from watcher.service.hole_crops import EVERY_S, HoleCrops
from watcher.service.upkeep import COPIES, Upkeep
from watcher.storage.crops import Budget, Crops
from watcher.storage.journal import open_journal

NOON = datetime(2026, 3, 3, 12, 0, tzinfo=UTC)


def test_a_year_of_upkeep_leaves_a_week_of_copies_and_every_cast(tmp_path: Path) -> None:
    journal = open_journal(f"sqlite:///{tmp_path / 'journal.db'}", "bench1")
    for told in story(2 * CAST_STEPS):
        journal.add(told.step, durable=told.number == 2 * CAST_STEPS - 1)
    casts = [cast.cast_id for cast in journal.casts()]
    clock = ToldClock(0.0, NOON)
    upkeep = Upkeep(journal, Crops(tmp_path / "crops"), tmp_path / "copies", clock)
    for day in range(0, 365, 20):
        clock.tell(day * 86_400.0, NOON + timedelta(days=day))
        upkeep.do()
        upkeep.do()
    copies = sorted(path.name for path in (tmp_path / "copies").iterdir())
    assert len(copies) == COPIES
    assert copies[-1] == "journal-2027-02-26.db"  # 360 days after 3 March 2026
    assert [cast.cast_id for cast in journal.casts()] == casts
    journal.close()


def test_crops_are_of_holes_under_cast_only_and_no_more_often_than_every_ten_seconds(tmp_path: Path) -> None:
    *_, told = story(10)
    beaker = told.step.bench.moulds["beaker"]
    ring = tuple((120.0 + 20 * np.sin(turn), 100.0 + 30 * np.cos(turn)) for turn in np.linspace(0, 6.2, 24))
    image = np.zeros((240, 320, 3), np.uint8)
    image[90:150, 60:140] = (10, 20, 200)
    image[:, 200:] = (255, 255, 255)  # somebody's white shirt at the other end of the bench
    crops = HoleCrops(Crops(tmp_path, Budget(free_bytes=0)))
    kept = 0
    for number in range(5):
        taken_s = 45.0 + number * EVERY_S / 2
        looked = replace(
            beaker, last_look=HoleSighting("beaker", Missed.UNCERTAIN, rim_rc=ring), last_look_s=taken_s
        )
        bench = replace(told.step.bench, moulds={**told.step.bench.moulds, "beaker": looked})
        kept += crops.keep(Frame("left", image, taken_s, at(taken_s)), bench)
    assert kept == 3
    found = list(tmp_path.rglob("*.jpg"))
    assert {path.parent.name for path in found} == {"beaker"}
    crop = cv2.imread(str(found[0]))
    assert crop.shape[1] < 110
    assert crop.min(axis=2).max() < 200, "nothing but the hole and a little around it"
