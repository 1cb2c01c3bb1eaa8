"""The log: one line for each event, key=value, in files that take turns and never fill a disk."""

from __future__ import annotations

import logging
import re
from datetime import UTC, datetime
from logging.handlers import RotatingFileHandler
from pathlib import Path

_EACH_BYTES = 2_000_000
_FILES = 5
_BREAKS = re.compile(r"[\r\n\x00-\x08\x0b\x0c\x0e-\x1f\x7f\u2028\u2029]+")


class OneLine(logging.Formatter):
    """A record as one line: UTC moment, level, place, then what was said. A trace is put on the same line."""

    def __init__(self) -> None:
        super().__init__("%(asctime)s level=%(levelname)s in=%(name)s %(message)s")

    def formatTime(self, record: logging.LogRecord, datefmt: str | None = None) -> str:
        """Return the record's moment in UTC, to the millisecond."""
        moment = datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds")
        return moment.removesuffix("+00:00") + "Z"

    def format(self, record: logging.LogRecord) -> str:
        """Return the line; nothing that was typed somewhere can begin a line of its own."""
        return _BREAKS.sub(" | ", super().format(record))


def keep_log(folder: Path | None, *, level: int = logging.INFO) -> logging.Handler:
    """Let everything be logged from now on.

    Parameters
    ----------
    folder : Path or None
        Where `tipbell.log` and its older parts lie; None: to standard error, for a service manager to keep.
    level : int
        Least level that is kept.

    Returns
    -------
    Handler
        Remove it with `logging.getLogger().removeHandler` to end.
    """
    handler: logging.Handler
    if folder is None:
        handler = logging.StreamHandler()
    else:
        folder.mkdir(parents=True, exist_ok=True)
        handler = RotatingFileHandler(
            folder / "tipbell.log", maxBytes=_EACH_BYTES, backupCount=_FILES - 1, encoding="utf-8", delay=True
        )
    handler.setFormatter(OneLine())
    root = logging.getLogger()
    root.addHandler(handler)
    root.setLevel(level)
    return handler
