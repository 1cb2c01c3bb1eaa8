"""One line for each event, and no more on the disk than a few files."""

from __future__ import annotations

import logging
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from watcher.service import logs
from watcher.service.logs import keep_log


@pytest.fixture
def log(tmp_path: Path) -> Iterator[Path]:
    before = logging.getLogger().level
    handler = keep_log(tmp_path / "logs")
    yield tmp_path / "logs" / "tipbell.log"
    logging.getLogger().removeHandler(handler)
    logging.getLogger().setLevel(before)
    handler.close()


def test_an_event_is_one_line_with_its_moment_in_utc(log: Path) -> None:
    logging.getLogger("watcher.bench").info("event=%s mould=%s", "tipped", "beaker")
    (line,) = log.read_text().splitlines()
    assert re.fullmatch(
        r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z level=INFO in=watcher\.bench event=tipped mould=beaker", line
    )


def test_what_somebody_typed_cannot_begin_a_line_of_its_own(log: Path) -> None:
    logging.getLogger("watcher.bench").info(
        "note=%s", "thin\nlevel=ERROR in=watcher event=made_up\r\n\x1b[31m"
    )
    try:
        raise ValueError("one\ntwo")
    except ValueError:
        logging.getLogger("watcher.bench").exception("event=failed")
    lines = log.read_text().splitlines()
    assert len(lines) == 2
    assert "\x1b" not in lines[0]
    assert "ValueError: one | two" in lines[1]


def test_the_files_take_turns(log: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for number in range(3000):
        logging.getLogger("watcher.bench").info("event=filler number=%d %s", number, "x" * 4000)
    files = sorted(path.name for path in log.parent.iterdir())
    assert len(files) == logs._FILES
    assert sum(path.stat().st_size for path in log.parent.iterdir()) <= logs._FILES * logs._EACH_BYTES
