"""The tables of a recording: which picture was taken when, or which levels were read when."""

from __future__ import annotations

import csv
import math
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Generic, TypeVar

from watcher.camera.recording_fields import RecordingError

MOST_S = 1e9
"""Thirty years. [s]"""

MOST_MM = 10_000.0
"""No pour hole is ten metres deep. [mm]"""

Row = TypeVar("Row")


@dataclass(frozen=True, slots=True)
class PictureRow:
    """A picture of the recording and its moment in seconds of the recording."""

    file: str
    time_s: float
    line: int


@dataclass(frozen=True, slots=True)
class LevelRow:
    """A level that a person or another sensor read: millimetres below the rim."""

    time_s: float
    mould: str
    level_mm: float
    line: int


@dataclass(frozen=True, slots=True)
class Rows(Generic[Row]):
    """What a table held, and the columns that nobody knows."""

    rows: tuple[Row, ...]
    unknown: tuple[str, ...]


def read_picture_rows(path: Path) -> Rows[PictureRow]:
    """Read ``frames.csv``.

    Parameters
    ----------
    path : Path
        A table with the columns ``file`` (a path inside the recording) and ``time_s`` (seconds, growing).

    Returns
    -------
    Rows of PictureRow
        In order of time, at least one.

    Raises
    ------
    RecordingError
        The file is missing or a line is not as wanted.
    """
    lines, unknown = _lines(path, ("file", "time_s"))
    rows: list[PictureRow] = []
    for number, line in lines:
        time_s = _moment(path, number, line)
        if rows and time_s <= rows[-1].time_s:
            raise RecordingError(
                f"{path.name} line {number}: time_s is {line['time_s']} after {rows[-1].time_s:g} in "
                "the line before; frames must be in order of time"
            )
        rows.append(PictureRow(_inside(path, number, line["file"]), time_s, number))
    if not rows:
        raise RecordingError(f"{path.name} holds no line; give one line with file,time_s for each frame")
    return Rows(tuple(rows), unknown)


def read_level_rows(path: Path, moulds: Iterable[str]) -> Rows[LevelRow]:
    """Read ``levels.csv``.

    Parameters
    ----------
    path : Path
        A table with the columns ``time_s`` (seconds, never falling), ``mould`` and ``level_mm``.
    moulds : iterable of str
        The names that the recording knows.

    Returns
    -------
    Rows of LevelRow
        In order of time, at least one.

    Raises
    ------
    RecordingError
        The file is missing or a line is not as wanted.
    """
    known = tuple(moulds)
    lines, unknown = _lines(path, ("time_s", "mould", "level_mm"))
    rows: list[LevelRow] = []
    at_this_moment: set[str] = set()
    for number, line in lines:
        time_s = _moment(path, number, line)
        if rows and time_s < rows[-1].time_s:
            raise RecordingError(
                f"{path.name} line {number}: time_s is {line['time_s']} after {rows[-1].time_s:g} in "
                "the line before; levels must be in order of time"
            )
        if rows and time_s > rows[-1].time_s:
            at_this_moment.clear()
        mould = line["mould"]
        if mould not in known:
            raise RecordingError(
                f"{path.name} line {number}: mould is '{mould}'; give one of {', '.join(known)}"
            )
        if mould in at_this_moment:
            raise RecordingError(
                f"{path.name} line {number}: mould '{mould}' has two levels at {time_s:g} s; give one"
            )
        at_this_moment.add(mould)
        level_mm = _number(path, number, line, "level_mm", "millimetres below the rim")
        if abs(level_mm) > MOST_MM:
            raise RecordingError(
                f"{path.name} line {number}: level_mm is {level_mm:g}; give millimetres below the rim"
            )
        rows.append(LevelRow(time_s, mould, level_mm, number))
    if not rows:
        raise RecordingError(f"{path.name} holds no line; give time_s,mould,level_mm for each level read")
    return Rows(tuple(rows), unknown)


def _lines(path: Path, wanted: tuple[str, ...]) -> tuple[list[tuple[int, dict[str, str]]], tuple[str, ...]]:
    try:
        with path.open(newline="", encoding="utf-8-sig") as table:
            reader = csv.DictReader(table, strict=True)
            columns = [name.strip() for name in reader.fieldnames or ()]
            reader.fieldnames = columns
            _check_columns(path, columns, wanted)
            lines = [(reader.line_num, _whole_line(path, reader.line_num, line, wanted)) for line in reader]
    except FileNotFoundError:
        raise RecordingError(f"{path.name} is not in {path.parent}") from None
    except (OSError, UnicodeDecodeError, csv.Error) as fault:
        raise RecordingError(f"{path.name} cannot be read as a comma-separated table: {fault}") from fault
    return lines, tuple(f"{path.name} column {name}" for name in columns if name not in wanted)


def _check_columns(path: Path, columns: list[str], wanted: tuple[str, ...]) -> None:
    for name in wanted:
        if columns.count(name) != 1:
            found = ",".join(columns) or "nothing"
            how = "has no column" if name not in columns else "has twice the column"
            raise RecordingError(f"{path.name} {how} '{name}': found {found}; wanted {','.join(wanted)}")


def _whole_line(path: Path, number: int, line: dict[str, str], wanted: tuple[str, ...]) -> dict[str, str]:
    values = {name: (line[name] or "").strip() for name in wanted}
    for name, value in values.items():
        if not value:
            raise RecordingError(f"{path.name} line {number}: {name} is blank; give {','.join(wanted)}")
    return values


def _moment(path: Path, number: int, line: dict[str, str]) -> float:
    time_s = _number(path, number, line, "time_s", "seconds since the start of the recording")
    if abs(time_s) > MOST_S:
        raise RecordingError(
            f"{path.name} line {number}: time_s is {line['time_s']}; give seconds since the recording's "
            f"start, at most {MOST_S:g}"
        )
    return time_s


def _number(path: Path, number: int, line: dict[str, str], column: str, meaning: str) -> float:
    try:
        value = float(line[column])
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise RecordingError(
            f"{path.name} line {number}: {column} is '{line[column]}'; give a number, the {meaning}"
        )
    return value


def _inside(path: Path, number: int, file: str) -> str:
    parts = PurePosixPath(file.replace("\\", "/"))
    if parts.is_absolute() or ".." in parts.parts or ":" in file:
        raise RecordingError(
            f"{path.name} line {number}: file is '{file}'; give a path inside the recording's folder"
        )
    return str(parts)
