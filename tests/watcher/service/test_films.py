"""A cast's pictures become one film when it has been tipped, under the budget of the pictures."""

from __future__ import annotations

import importlib.util
import sys
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import cv2
import numpy as np
import pytest
from bench_stories import CAST_STEPS, story

from watcher.clock import ToldClock
from watcher.desk.memory import BenchMemory
from watcher.records.kept import KeptCast
from watcher.service import films
from watcher.service.films import LEAST_PICTURES, PICTURES_PER_S, Films, write_film
from watcher.storage.crops import Budget, Crops
from watcher.storage.journal import Journal, open_journal

needs_the_extra = pytest.mark.skipif(
    importlib.util.find_spec("av") is None, reason="the extra timelapse is not installed"
)


def jpeg(grey: int, wide: int = 97, high: int = 81) -> bytes:
    """A plain picture of one grey, of odd sides as crops have them."""
    good, data = cv2.imencode(".jpg", np.full((high, wide, 3), grey, np.uint8))
    assert good
    return data.tobytes()


@pytest.fixture
def journal(tmp_path: Path) -> Iterator[Journal]:
    """A bench's memory with one cast that was tipped."""
    journal = open_journal(f"sqlite:///{tmp_path / 'journal.db'}", "bench1")
    for told in story(CAST_STEPS):
        journal.add(told.step, durable=told.number == CAST_STEPS - 1)
    yield journal
    journal.close()


def tipped_cast(journal: Journal) -> KeptCast:
    (cast, *_) = [one for one in journal.casts() if one.tipped_at is not None]
    return cast


def with_pictures(crops: Crops, cast: KeptCast, count: int = 30) -> None:
    assert cast.tipped_at is not None
    step = (cast.tipped_at - cast.began_at) / count
    for k in range(count):
        assert crops.keep(cast.mould, cast.began_at + k * step, jpeg(60 + 5 * k)) is not None


def made(journal: Journal, crops: Crops, cast: KeptCast, after: timedelta) -> Path | None:
    assert cast.tipped_at is not None
    clock = ToldClock(0.0, cast.tipped_at + after)
    memory = BenchMemory(journal, crops, "UTC")
    Films(memory, crops, clock).do()
    return memory.film(cast)


@needs_the_extra
def test_a_film_decodes_to_every_picture_in_order_at_their_size(tmp_path: Path) -> None:
    count = write_film([jpeg(40 + 20 * k) for k in range(10)] + [b"", b"no picture"], tmp_path / "film.mp4")
    assert count == 10
    video = cv2.VideoCapture(str(tmp_path / "film.mp4"))  # another decoder than the library that wrote it
    assert video.get(cv2.CAP_PROP_FPS) == PICTURES_PER_S
    assert int(video.get(cv2.CAP_PROP_FOURCC)).to_bytes(4, "little") in (b"avc1", b"h264")
    greys = []
    while (read := video.read())[0]:
        assert read[1].shape == (80, 96, 3)
        greys.append(float(read[1].mean()))
    assert greys == pytest.approx([40 + 20 * k for k in range(10)], abs=4)


@needs_the_extra
def test_pictures_of_another_size_are_brought_to_that_of_the_first(tmp_path: Path) -> None:
    write_film([jpeg(100), jpeg(100, 160, 120), jpeg(100)], tmp_path / "film.mp4")
    video = cv2.VideoCapture(str(tmp_path / "film.mp4"))
    assert [video.read()[1].shape for _ in range(3)] == [(80, 96, 3)] * 3


@needs_the_extra
def test_a_tipped_cast_gets_its_film_once_its_last_pictures_are_there(
    tmp_path: Path, journal: Journal
) -> None:
    crops, cast = Crops(tmp_path / "crops", free=lambda _: 10**12), tipped_cast(journal)
    with_pictures(crops, cast)
    assert made(journal, crops, cast, timedelta(seconds=60)) is None
    film = made(journal, crops, cast, timedelta(minutes=5))
    assert film is not None
    video = cv2.VideoCapture(str(film))
    assert int(video.get(cv2.CAP_PROP_FRAME_COUNT)) == 30
    before = film.stat().st_mtime_ns
    assert made(journal, crops, cast, timedelta(minutes=9)) == film
    assert film.stat().st_mtime_ns == before
    assert not list((tmp_path / "crops").rglob("*.part"))


@needs_the_extra
def test_films_lie_under_the_budget_of_the_pictures(tmp_path: Path, journal: Journal) -> None:
    cast = tipped_cast(journal)
    full = Crops(tmp_path / "crops", Budget(free_bytes=1000), free=lambda _: 1_500_000)
    with_pictures(full, cast)
    assert made(journal, full, cast, timedelta(minutes=5)) is None  # no film where the disk is nearly full
    roomy = Crops(tmp_path / "crops", free=lambda _: 10**12)
    film = made(journal, roomy, cast, timedelta(minutes=5))
    assert film is not None
    assert [len(kept.path.suffix) for kept in roomy.pictures(cast.mould, cast.began_at, cast.began_at)] == [4]
    old = Crops(tmp_path / "crops", Budget(most_days=3), free=lambda _: 10**12)
    old.prune(cast.began_at + timedelta(days=5))
    assert not film.exists()


@needs_the_extra
def test_a_cast_with_hardly_a_picture_or_with_spoilt_ones_has_no_film_and_stops_nothing(
    tmp_path: Path, journal: Journal
) -> None:
    crops, cast = Crops(tmp_path / "crops", free=lambda _: 10**12), tipped_cast(journal)
    with_pictures(crops, cast, LEAST_PICTURES - 1)
    assert made(journal, crops, cast, timedelta(minutes=5)) is None
    with_pictures(crops, cast)
    for kept in (tmp_path / "crops").rglob("*.jpg"):
        kept.write_bytes(b"spoilt")
    assert made(journal, crops, cast, timedelta(minutes=5)) is None
    assert not list((tmp_path / "crops").rglob("*.part"))


def test_without_the_extra_there_are_pictures_and_no_film(
    tmp_path: Path, journal: Journal, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "av", None)
    monkeypatch.setattr(films, "find_spec", lambda name: None)
    crops, cast = Crops(tmp_path / "crops", free=lambda _: 10**12), tipped_cast(journal)
    with_pictures(crops, cast)
    assert made(journal, crops, cast, timedelta(minutes=5)) is None
    until = cast.began_at + timedelta(days=1)
    assert len(crops.pictures(cast.mould, cast.began_at, until)) == 30
