"""What truly happened in a recording: the only place where its truth is opened."""

from __future__ import annotations

import csv
import math
from collections import defaultdict
from dataclasses import dataclass
from pathlib import Path


class NoTruth(Exception):
    """A recording without a truth that can be used; the text is one sentence."""


@dataclass(frozen=True, slots=True)
class TrueRow:
    """One mould at the moment of one picture. `share_in_view` None: the truth does not say.

    `level_mm` is None where no slip stands; `share_in_view` is the part of the liquid's edge that is in view;
    `free_radius_mm` that of the slip's surface inside the clay, where the truth tells it.
    """

    time_s: float
    mould: str
    phase: str
    level_mm: float | None
    wall_mm: float
    visible: bool
    share_in_view: float | None
    tells_share: bool
    free_radius_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Happened:
    """Something that truly happened, or that was said to have happened. [s]."""

    time_s: float
    mould: str
    event: str


@dataclass(frozen=True, slots=True)
class TruePlace:
    """Where a mould's rim truly is in the bench frame, and how it is turned about the vertical. [mm, deg]."""

    time_s: float
    mould: str
    rim_mm: tuple[float, float, float]
    yaw_deg: float
    there: bool


@dataclass(frozen=True, slots=True)
class Truth:
    """The truth of one recording. `places` is empty where it does not tell them."""

    rows: tuple[TrueRow, ...]
    events: tuple[Happened, ...]
    places: tuple[TruePlace, ...]
    by_sight: bool


def read_truth(folder: Path) -> Truth:
    """Read ``truth.csv``, ``events.csv`` and, where it is there, ``truth_pose.csv`` of a recording.

    Raises
    ------
    NoTruth
        One of the first two is missing or does not hold what it should.
    """
    try:
        rows = tuple(_row(row) for row in _table(folder / "truth.csv"))
        events = happened(folder / "events.csv")
        poses = folder / "truth_pose.csv"
        places = tuple(_place(row) for row in _table(poses)) if poses.exists() else ()
    except FileNotFoundError as fault:
        raise NoTruth(f"{folder} holds no {Path(fault.filename).name}; only a recording with its truth can be"
                      " judged") from fault  # fmt: skip
    except (KeyError, ValueError) as fault:
        raise NoTruth(f"the truth of {folder} cannot be read: {fault}") from fault
    if not rows:
        raise NoTruth(f"the truth of {folder} is empty")
    return Truth(rows, events, places, (folder / "frames.csv").exists())


def happened(path: Path) -> tuple[Happened, ...]:
    """Read a table of events, in order of time."""
    rows = [Happened(float(row["time_s"]), row["mould"], row["event"]) for row in _table(path)]
    return tuple(sorted(rows, key=lambda row: row.time_s))


@dataclass(frozen=True, slots=True)
class TrueCast:
    """One filling of one mould as it truly went.

    Attributes
    ----------
    began_s, full_s : float
        When the pour began, and when the mould was full. [s]
    ready_s : float
        When the wall wanted was there; infinite where the recording does not come to it. [s]
    tipped_s : float
        Infinite where it was not. [s]
    next_s : float
        When the same mould was poured again; infinite where it was not. [s]
    """

    mould: str
    number: int
    began_s: float
    full_s: float
    ready_s: float
    tipped_s: float
    next_s: float

    @property
    def lasts_s(self) -> float:
        """The cast's time, from full to truly ready."""
        return self.ready_s - self.full_s


def true_casts(events: tuple[Happened, ...]) -> tuple[TrueCast, ...]:
    """List every filling that the events tell of, by mould and number."""
    count: dict[str, int] = defaultdict(int)
    firsts: dict[tuple[str, int], dict[str, float]] = defaultdict(dict)
    for event in events:
        if not event.mould:
            continue
        count[event.mould] += event.event == "filling"
        if count[event.mould]:
            firsts[event.mould, count[event.mould]].setdefault(event.event, event.time_s)
    never = math.inf
    return tuple(
        TrueCast(
            mould,
            number,
            first["filling"],
            first.get("filled", first["filling"]),
            first.get("ready", never),
            first.get("tipped", never),
            min((other["filling"] for (m, n), other in firsts.items() if m == mould and n > number),
                default=never),
        )
        for (mould, number), first in sorted(firsts.items())
    )  # fmt: skip


def _row(row: dict[str, str]) -> TrueRow:
    return TrueRow(
        float(row["time_s"]),
        row["mould"],
        row["phase"],
        _number(row["level_mm"]),
        float(row["wall_mm"]),
        row["visible"] == "1",
        _number(row.get("visible_fraction")),
        "visible_fraction" in row,
        _number(row.get("free_radius_mm")),
    )


def _place(row: dict[str, str]) -> TruePlace:
    x, y, z = (float(row[f"rim_{axis}_mm"]) for axis in "xyz")
    return TruePlace(
        float(row["time_s"]), row["mould"], (x, y, z), float(row["yaw_deg"]), row["state"] == "in"
    )


def _number(text: str | None) -> float | None:
    value = float(text) if text else math.nan
    return value if math.isfinite(value) else None


def _table(path: Path) -> list[dict[str, str]]:
    with path.open(newline="", encoding="utf-8") as lines:
        return list(csv.DictReader(lines))
