"""A picture that cannot be used is told from one that can."""

from __future__ import annotations

import numpy as np
from camera_servers import noise

from watcher.camera.health import FROZEN_AFTER_S, Watched, judged
from watcher.records.frames import Blind


def test_the_same_picture_again_and_again_is_frozen_and_one_new_picture_ends_it() -> None:
    watched, same = Watched(), noise(1)
    for at_s in np.arange(0.0, FROZEN_AFTER_S, 5.0):
        watched, unusable = judged(same, at_s, watched)
        assert unusable is None
    watched, unusable = judged(same, FROZEN_AFTER_S + 1.0, watched)
    assert unusable is not None
    assert unusable.why is Blind.FROZEN
    assert "46 s" in unusable.detail
    watched, unusable = judged(noise(2), FROZEN_AFTER_S + 2.0, watched)
    assert unusable is None


def test_a_bench_at_rest_seen_by_a_real_sensor_is_not_frozen() -> None:
    rng, watched = np.random.default_rng(3), Watched()
    still = np.full((240, 320, 3), 150.0)
    for at_s in np.arange(0.0, 3 * FROZEN_AFTER_S, 5.0):
        picture = np.clip(still + rng.normal(0, 0.5, still.shape), 0, 255).astype(np.uint8)
        watched, unusable = judged(picture, at_s, watched)
        assert unusable is None


def test_a_covered_lens_is_black_and_a_bench_in_dim_light_is_not() -> None:
    rng = np.random.default_rng(4)
    covered = np.clip(rng.normal(0, 6, (240, 320, 3)), 0, 255).astype(np.uint8)
    dim = np.clip(rng.normal(12, 4, (240, 320, 3)), 0, 255).astype(np.uint8)
    dim[100:140, 100:160] = 60  # a plaster mould in a room with one lamp far away
    assert judged(covered, 0.0, Watched())[1].why is Blind.BLACK
    assert judged(dim, 0.0, Watched())[1] is None


def test_a_picture_turned_on_its_side_has_the_wrong_size() -> None:
    unusable = judged(noise(5, (240, 320)), 0.0, Watched(), size_px=(320, 240))[1]
    assert unusable is not None
    assert unusable.why is Blind.WRONG_SIZE
    assert "240x320" in unusable.detail
    assert judged(noise(5, (320, 240)), 0.0, Watched(), size_px=(320, 240))[1] is None
