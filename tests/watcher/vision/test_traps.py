"""Traps that a reading of slip can fall into, drawn with their truth: what is read must not follow."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest
from drawn_benches import Looked, frame_of, rms, watch

from watcher.records.layout import BenchLayout
from watcher.records.readings import Expected, LevelReading
from watcher.simulator.bench import SimBench
from watcher.simulator.coverings import Shade
from watcher.simulator.faults import Faults, Hand
from watcher.simulator.samples import sample_bench
from watcher.simulator.scene import Scene
from watcher.simulator.truth import SimCast
from watcher.vision.look import look_at
from watcher.vision.memory import Eyes

TIMES = [float(t) for t in range(0, 620, 20)]


def errors(looked: list[Looked], after_s: float = 0.0) -> list[float]:
    return [
        x.error_mm
        for x in looked
        if x.error_mm is not None and x.at_s >= after_s and x.true.phase == "casting"
    ]


def share_read(looked: list[Looked], after_s: float = 0.0) -> float:
    casting = [x for x in looked if x.true.phase == "casting" and x.at_s >= after_s]
    return sum(x.error_mm is not None for x in casting) / len(casting)


def thick_walled(k_mm2_per_min: float) -> SimBench:
    bench = sample_bench(1)
    cast = replace(bench.moulds[0].casts[0], k_mm2_per_min=k_mm2_per_min)
    return replace(bench, moulds=(replace(bench.moulds[0], casts=(cast,)),))


def told_of_clay(bench: SimBench, share: float) -> list[Looked]:
    """Look at a bench that is told so large a share of the clay that is truly on the wall."""
    scene, eyes, found = Scene(bench), None, []
    for at_s in TIMES:
        inside = scene.insides(at_s)[0]
        known = Expected(
            "casting", cake_depths_mm=tuple(inside.depths_mm), cake_mm=tuple(share * inside.clay_mm)
        )
        expected = {bench.moulds[0].name: known} if inside.phase == "casting" else {}
        sighting, eyes = look_at(frame_of(scene.picture(at_s), at_s), bench.layout(), eyes, expected)
        found.append(Looked(at_s, sighting.holes[0], inside))
    return found


def test_clay_on_the_wall_is_reckoned_with_and_ignoring_it_would_be_wrong_by_millimetres() -> None:
    """By the bound's own ratio: 4 mm of clay seen at 48 degrees from the vertical are 3.6 mm of level."""
    bench = thick_walled(2.4)
    with_clay, without = told_of_clay(bench, 1.0), told_of_clay(bench, 0.02)
    assert rms(errors(with_clay, 300.0)) < 0.5
    assert float(np.mean(errors(with_clay, 500.0)) - np.mean(errors(without, 500.0))) < -1.5 or (
        share_read(without, 500.0) == 0.0
    )


def test_each_reading_says_what_a_millimetre_more_clay_would_change() -> None:
    """Told a tenth less clay than there is, the level moves by just what the reading says of it."""
    bench = thick_walled(2.4)
    right, thin = told_of_clay(bench, 1.0), told_of_clay(bench, 0.9)
    compared = 0
    for one, other in zip(right, thin, strict=True):
        a, b = one.seen.reading, other.seen.reading
        if isinstance(a, LevelReading) and isinstance(b, LevelReading) and one.at_s > 400.0:
            foretold = -a.mm_per_clay_mm * (b.clay_mm - a.clay_mm)
            assert b.level_mm - a.level_mm == pytest.approx(foretold, abs=0.15)
            compared += 1
    assert compared >= 6


def test_after_a_top_up_the_level_is_read_through_the_thinner_clay_at_the_line() -> None:
    """Clay at the line stopped growing when it was exposed: one thickness for all would be 1 mm off."""
    bench = sample_bench(2)
    bottle = bench.moulds[1]
    cast = replace(bottle.casts[0], top_ups=((330.0, 350.0),))
    at = (bottle.seat.x_mm - 20.0, bottle.seat.y_mm - 30.0, bottle.height_mm + 40.0)
    bench = replace(bench, moulds=(replace(bottle, casts=(cast,)),))
    by_mould, _, _ = watch(bench, TIMES, Faults(hands=(Hand(325.0, 355.0, at, 70.0),)))
    looked = next(iter(by_mould.values()))
    before = next(x.true.level_mm for x in looked if x.at_s == 320.0)
    after = next(x.true.level_mm for x in looked if x.at_s == 360.0)
    assert before is not None and after is not None
    assert after < before - 3.0
    assert share_read(looked, 360.0) >= 0.8
    assert rms(errors(looked, 360.0)) < 0.4


@pytest.mark.parametrize(("towards_deg", "gain"), [(90.0, 0.72), (270.0, 0.72), (20.0, 0.6)])
def test_the_edge_of_a_shadow_in_the_hole_is_not_read_as_the_slips(towards_deg: float, gain: float) -> None:
    """It is a far stronger edge than the slip's, it lies on slip and wall alike, and it wanders."""
    bench = sample_bench(1)
    shade = Shade(200.0, 1e9, bench.moulds[0].name, gain, towards_deg, from_mm=-14.0, mm_per_s=0.04)
    by_mould, _, _ = watch(bench, TIMES, Faults(shades=(shade,)))
    looked = next(iter(by_mould.values()))
    found = errors(looked)
    assert len(found) >= 12
    assert max(abs(e) for e in found) < 1.5
    assert rms(found) < 0.6


def test_a_hand_over_part_of_the_sheet_does_not_move_the_camera() -> None:
    """A tag that is half covered puts a camera tens of mm off if it is believed."""
    bench = sample_bench(1)
    hands = tuple(
        Hand(240.0 + 20.0 * k, 260.0 + 20.0 * k, (-40.0 + 9.0 * k, -70.0 + 4.0 * (k % 2), 12.0), 80.0)
        for k in range(7)
    )
    by_mould, sightings, _ = watch(bench, TIMES, Faults(hands=hands))
    assert not any(s.camera_moved for s in sightings)
    looked = next(iter(by_mould.values()))
    assert {x.seen.placement for x in looked} == {0}
    assert share_read(looked, 200.0) >= 0.9
    assert rms(errors(looked)) < 0.5


def test_once_corners_are_averaged_a_placement_stays_as_it_is_frozen() -> None:
    """The drop since full then holds no noise of the pose: the very same place, look after look."""
    bench = sample_bench(1)
    scene, eyes = Scene(bench), None
    places = []
    for at_s in TIMES[:20]:
        _, eyes = look_at(frame_of(scene.picture(at_s), at_s), bench.layout(), eyes, {})
        places.append(eyes.moulds[bench.moulds[0].name].places[0].rim_mm)
    assert all(np.array_equal(place, places[-1]) for place in places[8:])


def seen_cheaply(bench: SimBench, blur_px: float, quality: int, times_s: list[float]) -> list[Looked]:
    """Look through a soft lens and a camera that packs its pictures small."""
    scene, eyes, found = Scene(bench), None, []
    layout: BenchLayout = bench.layout()
    for at_s in times_s:
        soft = cv2.GaussianBlur(scene.picture(at_s), (0, 0), blur_px)
        packed = cv2.imencode(".jpg", soft, [cv2.IMWRITE_JPEG_QUALITY, quality])[1]
        picture = np.asarray(cv2.imdecode(packed, cv2.IMREAD_COLOR), dtype=np.uint8)
        inside = scene.insides(at_s)[0]
        known = Expected("casting", cake_depths_mm=tuple(inside.depths_mm), cake_mm=tuple(inside.clay_mm))
        expected = {bench.moulds[0].name: known} if inside.phase == "casting" else {}
        sighting, eyes = look_at(frame_of(picture, at_s), layout, eyes, expected)
        found.append(Looked(at_s, sighting.holes[0], inside))
    return found


def test_with_a_cheap_camera_blurred_and_packed_hard_cards_are_found_and_levels_hold() -> None:
    bench = sample_bench(1, width_px=640, height_px=480)
    looked = seen_cheaply(replace(bench, noise=4.0), 0.9, 45, TIMES)
    assert share_read(looked, 120.0) >= 0.7
    assert rms(errors(looked)) < 1.0
    assert max(abs(e) for e in errors(looked)) < 2.0


def test_in_poor_light_with_strong_noise_nothing_grossly_wrong_is_said() -> None:
    bench = replace(sample_bench(2), noise=9.0, clay=(62.0, 74.0, 80.0), plaster=(80.0, 83.0, 84.0))
    by_mould, _, _ = watch(bench, TIMES)
    for looked in by_mould.values():
        assert all(abs(e) < 2.0 for e in errors(looked))
    assert sum(len(errors(looked)) for looked in by_mould.values()) >= 10


@pytest.mark.parametrize("seed", [4, 5])
def test_in_pictures_with_no_slip_at_all_none_is_read(seed: int) -> None:
    """Empty moulds under a wandering shadow and a lamp: edges enough, and never a level."""
    bench = sample_bench(2, seed=seed)
    empty = replace(bench, moulds=tuple(replace(m, casts=()) for m in bench.moulds))
    shades = tuple(Shade(60.0, 1e9, m.name, 0.7, 60.0 * seed, -20.0, 0.06) for m in empty.moulds)
    by_mould, _, eyes = watch(empty, TIMES, Faults(shades=shades))
    assert isinstance(eyes, Eyes)
    assert not any(isinstance(x.seen.reading, LevelReading) for looked in by_mould.values() for x in looked)


def test_a_second_pour_of_other_slip_is_read_by_its_own_look() -> None:
    bench = sample_bench(1)
    mould = bench.moulds[0]
    first = replace(mould.casts[0], tip_s=260.0, clean_s=280.0)
    bench = replace(bench, moulds=(replace(mould, casts=(first, SimCast(360.0, 390.0, 0.9))),))
    looked = next(iter(watch(bench, TIMES)[0].values()))
    assert share_read(looked, 440.0) >= 0.7
    assert rms(errors(looked, 440.0)) < 0.6
