"""Hold what `tipbell measure` wrote against a recording's truth: `scoring.py RECORDING OUT`.

Reads the recording's truth.csv and events.csv, which the watcher never opens. Ends with status 1 where a bar
is missed that `known_misses.txt` beside this file does not own up to. A blank where a figure is asked for is
a miss.
"""

from __future__ import annotations

import csv
import math
import sys
from dataclasses import dataclass
from pathlib import Path
from statistics import median

WITHOUT_SLIP = {"absent", "empty", "tipped", "drained"}
SLIVER = 0.15  # less of the liquid's edge in view than this need not be read
GROSS_MM = 2.0


@dataclass(frozen=True)
class Bar:
    """One figure, what was found, and the most (or least) that is allowed."""

    name: str
    found: float
    must: float
    least: bool = False

    @property
    def kept(self) -> bool:
        """Whether the bar holds."""
        return self.found >= self.must if self.least else self.found <= self.must


@dataclass(frozen=True)
class TrueCast:
    """One cast as it truly was: when the mould was full, when the wall was there, when it ended."""

    mould: str
    began_s: float
    filled_s: float
    ready_s: float
    over_s: float

    @property
    def lasts_s(self) -> float:
        """The cast's time, from filled to truly ready."""
        return self.ready_s - self.filled_s


def table(path: Path) -> list[dict[str, str]]:
    """Read a comma-separated table."""
    with path.open(newline="", encoding="utf-8") as lines:
        return list(csv.DictReader(lines))


def figure(text: str | None) -> float:
    """Read a number; NaN for a blank."""
    return float(text) if text else math.nan


def true_casts(recording: Path) -> list[TrueCast]:
    """List the casts that truly became ready while the recording ran and before they were tipped."""
    events = [row for row in table(recording / "events.csv") if row["mould"]]
    end_s = max(float(row["time_s"]) for row in table(recording / "truth.csv"))
    casts = []
    for mould in dict.fromkeys(row["mould"] for row in events):
        own = sorted((float(row["time_s"]), row["event"]) for row in events if row["mould"] == mould)
        began = [at for at, what in own if what == "filling"]
        for start, following in zip(began, [*began[1:], math.inf], strict=True):
            first: dict[str, float] = {}
            for at, what in own:
                if start <= at < following:
                    first.setdefault(what, at)
            over = min(first.get("tipped", math.inf), end_s, following)
            if first.get("ready", math.inf) <= over and "filled" in first:
                casts.append(TrueCast(mould, start, first["filled"], first["ready"], over))
    return casts


def level_bars(
    truth: list[dict[str, str]], lines: dict[tuple[float, str], dict[str, str]], events
) -> list[Bar]:
    """Judge the levels: how near, how many, how many far off, how many out of thin air."""
    errors, drops, first_errors = [], [], {}
    to_read = far_off = invented = 0
    for row in truth:
        at, mould = float(row["time_s"]), row["mould"]
        line = lines.get((at, mould))
        seen = line is not None and line["seen"] == "1"
        can_be_seen = row["phase"] == "casting" and row["visible"] == "1"
        invented += seen and (row["phase"] in WITHOUT_SLIP or (row["phase"] == "casting" and not can_be_seen))
        if not can_be_seen or figure(row["visible_fraction"]) < SLIVER:
            continue
        to_read += 1
        if not seen:
            continue
        error = figure(line["level_mm"]) - float(row["level_mm"])
        if abs(error) > GROSS_MM:
            far_off += 1
            continue
        errors.append(error)
        full = sum(
            at >= when for when, who, what in events if who == mould and what in ("filled", "topped_up")
        )
        since_full = first_errors.setdefault((mould, full), [])
        if len(since_full) < 3:
            since_full.append(error)
        else:
            drops.append(error - median(since_full))
    read = len(errors) + far_off
    return [
        Bar("level, RMS error [mm]", rms(errors), 0.5),
        Bar("drop since full, RMS error [mm]", rms(drops), 0.25),
        Bar("gross errors among those read", far_off / read if read else math.inf, 0.01),
        Bar("read of those that can be seen", read / to_read if to_read else 0.0, 0.95, least=True),
        Bar("seen where nothing can be seen", invented, 0),
    ]


def cast_bars(casts: list[TrueCast], truth, lines, said) -> list[Bar]:
    """Judge the calls: each once, at the right moment, with the right wall, foretold at half time."""
    walls = {(float(row["time_s"]), row["mould"]): figure(row["wall_mm"]) for row in truth}
    calls, wall_errors, foretold, missed = [], [], [], 0
    for cast in casts:
        own = [at for at, who, what in said if who == cast.mould and what == "ready"]
        own = [at for at in own if cast.began_s <= at <= cast.over_s + 60.0]
        missed += not own
        calls += [
            abs(at - cast.ready_s) / max(cast.lasts_s, 400.0) for at in own
        ]  # 15 % of 400 s is the minute
        times = sorted(at for at, who in lines if who == cast.mould)
        at_ready = next((at for at in times if at >= cast.ready_s), None)
        if at_ready is not None and at_ready <= cast.over_s:
            found = figure(lines[at_ready, cast.mould]["wall_mm"])
            wall_errors.append(worst_if_blank(found - walls[at_ready, cast.mould]))
        at_half = next((at for at in times if at >= cast.filled_s + cast.lasts_s / 2), math.inf)
        if at_half < cast.ready_s:
            found = figure(lines[at_half, cast.mould]["ready_s"])
            foretold.append(worst_if_blank((found - cast.ready_s) / cast.lasts_s))
    false = sum(what == "ready" for _, _, what in said) - (len(casts) - missed)
    return [
        Bar("ready off by, share of the cast, median", median(calls) if calls else math.inf, 0.05),
        Bar("ready off by, share of the cast, worst", max(calls, default=math.inf), 0.15),
        Bar("ready missed", missed, 0),
        Bar("ready that was not so", false, 0),
        Bar(
            "wall at the ready moment, median error [mm]",
            median(wall_errors) if wall_errors else math.inf,
            0.12,
        ),
        Bar("wall at the ready moment, worst error [mm]", max(wall_errors, default=math.inf), 0.25),
        Bar("foretold at half time, median error", median(foretold) if foretold else math.inf, 0.08),
        Bar("foretold at half time, worst error", max(foretold, default=math.inf), 0.25),
    ]


def rms(values: list[float]) -> float:
    """Root mean square; infinite when there is none."""
    return math.sqrt(sum(value * value for value in values) / len(values)) if values else math.inf


def worst_if_blank(error: float) -> float:
    """Size of an error; infinite for a blank."""
    return math.inf if math.isnan(error) else abs(error)


def bars(recording: Path, out: Path) -> list[Bar]:
    """Compare everything that `measure` wrote with the truth."""
    truth = table(recording / "truth.csv")
    lines = {(float(row["time_s"]), row["mould"]): row for row in table(out / "readings.csv")}
    happened, said = (
        [(float(row["time_s"]), row["mould"], row["event"]) for row in table(path / "events.csv")]
        for path in (recording, out)
    )
    levels = level_bars(truth, lines, happened) if (recording / "frames.csv").exists() else []
    return levels + cast_bars(true_casts(recording), truth, lines, said)


def known_misses() -> set[str]:
    """Name the bars that the sample session misses today; a line goes when its bar is kept."""
    lines = Path(__file__).with_name("known_misses.txt").read_text(encoding="utf-8").splitlines()
    return {line.strip() for line in lines if line.strip() and not line.startswith("#")}


def main() -> int:
    """Print the figures; return 1 where a bar is missed that is not known to be."""
    found = bars(Path(sys.argv[1]), Path(sys.argv[2]))
    for bar in found:
        print(f"{'    ' if bar.kept else 'MISS'} {bar.name:46s} {bar.found:8.3f}   must be {bar.must:g}"
              f" or {'more' if bar.least else 'less'}")  # fmt: skip
    missed = {bar.name for bar in found if not bar.kept}
    print(f"{len(missed)} of {len(found)} bars missed, {len(missed - known_misses())} of them new")
    return 1 if missed - known_misses() else 0


if __name__ == "__main__":
    sys.exit(main())
