"""Looks at drawn benches: the simulator draws and keeps the truth, the eyes look; they share no code."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

import numpy as np

from watcher.records.frames import Frame
from watcher.records.layout import BenchLayout
from watcher.records.readings import Expected, HoleSighting, LevelReading, Sighting
from watcher.simulator.bench import SimBench
from watcher.simulator.faults import Faults
from watcher.simulator.scene import Scene
from watcher.simulator.truth import Inside
from watcher.vision.look import look_at
from watcher.vision.memory import Eyes

START = datetime(2026, 5, 4, 8, 0, tzinfo=UTC)


@dataclass(frozen=True)
class Looked:
    """One mould at one moment: what was seen and what is true."""

    at_s: float
    seen: HoleSighting
    true: Inside

    @property
    def error_mm(self) -> float | None:
        if isinstance(self.seen.reading, LevelReading) and self.true.level_mm is not None:
            return self.seen.reading.level_mm - self.true.level_mm
        return None


def frame_of(picture: np.ndarray, at_s: float) -> Frame:
    picture.setflags(write=False)
    return Frame("bench", picture, at_s, START + timedelta(seconds=at_s), f"{at_s:.0f}")


def watch(
    bench: SimBench,
    times_s: list[float],
    faults: Faults | None = None,
    layout: BenchLayout | None = None,
    film_known: bool = True,
) -> tuple[dict[str, list[Looked]], list[Sighting], Eyes]:
    """Look at a bench at these moments, the cake on the walls told as the bench would; by mould, in order."""
    scene, eyes = Scene(bench, faults), None
    by_mould: dict[str, list[Looked]] = {m.name: [] for m in bench.moulds}
    sightings = []
    for at_s in times_s:
        picture, insides = scene.picture(at_s), scene.insides(at_s)
        expected = {
            m.name: Expected("casting", cake_depths_mm=tuple(i.depths_mm), cake_mm=tuple(i.clay_mm))
            for m, i in zip(bench.moulds, insides, strict=True)
            if film_known and i.phase == "casting"
        }
        sighting, eyes = look_at(frame_of(picture, at_s), layout or bench.layout(), eyes, expected)
        sightings.append(sighting)
        for hole, inside in zip(sighting.holes, insides, strict=True):
            by_mould[hole.mould].append(Looked(at_s, hole, inside))
    assert eyes is not None
    return by_mould, sightings, eyes


def shifted_cards(layout: BenchLayout, by_mm: tuple[float, float]) -> BenchLayout:
    """Return the layout as it reads when every card sits elsewhere than it says."""
    moulds = []
    for mould in layout.moulds:
        assert mould.card is not None
        x, y, z = mould.card.rim_centre_from_tag_mm
        moulds.append(
            replace(mould, card=replace(mould.card, rim_centre_from_tag_mm=(x + by_mm[0], y + by_mm[1], z)))
        )
    return replace(layout, moulds=tuple(moulds))


def rms(errors: list[float]) -> float:
    return float(np.sqrt(np.mean(np.square(errors))))
