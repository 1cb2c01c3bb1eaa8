"""The whole service with its memory: the slip kept on the page is poured with, and outlives a restart."""

from __future__ import annotations

import json
import re
from datetime import timedelta
from pathlib import Path
from typing import Any
from urllib.request import Request, urlopen

import pytest

from watcher.records.said import Said, What
from watcher.service.assembly import Assembled, assembled
from watcher.settings import read_settings
from watcher.storage.papers import PaperKind

SESSION = Path(__file__).parents[2] / "sample_frames" / "morning_bench"
CUP = "espresso cup"
SETTINGS = """
[bench]
name = "north bench"
[camera]
address = "{drop}"
folders = ["{home}"]
[page]
port = 0
"""


@pytest.fixture
def home(tmp_path: Path) -> Path:
    described = (SESSION / "recording.toml").read_text(encoding="utf-8")
    (tmp_path / "bench.toml").write_text(re.sub(r"\[clock\]\s*start = .*\n", "", described), encoding="utf-8")
    (tmp_path / "drop").mkdir()
    text = SETTINGS.format(drop=(tmp_path / "drop").as_posix(), home=tmp_path.as_posix())
    (tmp_path / "tipbell.toml").write_text(text, encoding="utf-8")
    return tmp_path


def ask(parts: Assembled, path: str, body: dict[str, Any] | None = None) -> Any:
    headers = {"Content-Type": "application/json"}
    data = None if body is None else json.dumps(body).encode()
    with urlopen(Request(parts.web.address + path, data=data, headers=headers), timeout=20) as answer:
        return json.load(answer)


def tick(parts: Assembled) -> None:
    parts.running.tick(parts.clock.now_s(), parts.clock.now_at())


@pytest.mark.slow
def test_the_slip_of_the_day_is_poured_with_and_outlives_a_restart(home: Path) -> None:
    settings = read_settings(home / "tipbell.toml")
    with assembled(settings) as parts:
        in_file = parts.running.bench().slip.specific_gravity
        kept = ask(parts, "slip.json", {"measure": "litre_g", "reading": 1730, "stirred": True, "keep": True})
        assert kept["kept_version"] == 1
        tick(parts)
        now_s, now_at = parts.clock.now_s(), parts.clock.now_at()
        assert parts.running.bench().slip_at(now_s).specific_gravity == 1.73
        assert parts.running.bench().slip.specific_gravity == in_file
        parts.running.hear(Said(What.FILLED, now_s, now_at, mould=CUP))
        parts.running.hear(Said(What.TIPPED, now_s + 60.0, now_at + timedelta(minutes=1), mould=CUP))
        ask(parts, "day.json", {"closing": "23:59", "pots": {CUP: 4}})
    with assembled(settings) as parts:
        (cast,) = parts.journal.casts(CUP)
        (paper,) = parts.journal.versions(PaperKind.SLIP, "slip")
        assert cast.slip_hash == paper.content_hash
        assert parts.running.bench().slip_at(parts.clock.now_s()).specific_gravity == 1.73
        assert ask(parts, "slip.json")["checks"][0]["specific_gravity"] == 1.73
        cup = next(one for one in ask(parts, "day.json")["moulds"] if one["mould"] == CUP)
        assert (cup["pots"], cup["poured"]) == (4, 1)
        assert ask(parts, "came_out.json", {"mould": CUP, "what": "clean"})["piece"] == 1
        assert ask(parts, "review.json")["casts"][0]["piece"] == 1
