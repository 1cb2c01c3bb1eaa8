"""Simulated days through the whole service: no call missed, none false, nothing lost, nothing leaked.

The truth is the simulator's own (`watcher.simulator.truth` shares no code with eyes, tracking or fit). This
is a sample; `tipbell soak` lets a hundred days pass.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from watcher.commands.soak_run import DST_NIGHT, Soak, soaked

pytestmark = pytest.mark.slow


def kept(figures: dict[str, float | int | None], said: list[str]) -> None:
    told = "\n".join(said)
    assert figures["due"], told
    assert figures["missed_ready"] == 0, told
    assert figures["false_ready"] == 0, told
    assert figures["ready_again"] == 0, told
    assert figures["casts_unnoticed"] == figures["casts_invented"] == 0, told
    assert figures["repeats_without_mark"] == 0, told
    assert figures["letters"] >= figures["due"], told
    assert figures["open_files_last_day"] == figures["open_files_first_day"], told


def test_days_with_hands_knocks_stalls_restarts_a_clock_set_back_and_the_night_it_goes_back(
    tmp_path: Path,
) -> None:
    """Sightings are handed over with the errors that the eyes were measured to make."""
    said: list[str] = []
    figures = soaked(Soak(days=3, moulds=3, seed=5, drawn=0, start=DST_NIGHT), tmp_path, said.append)
    kept(figures, said)
    assert figures["restarts"] >= 5
    assert figures["memory_last_day_mb"] < figures["memory_first_day_mb"] + 20.0, "\n".join(said)


def test_a_drawn_day_is_looked_at_and_called_like_any_other(tmp_path: Path) -> None:
    """Real pictures through the real eyes, one mould, so that it takes seconds."""
    said: list[str] = []
    figures = soaked(Soak(days=1, moulds=1, seed=8, drawn=1), tmp_path, said.append)
    kept(figures, said)
    assert figures["days_drawn"] == 1
