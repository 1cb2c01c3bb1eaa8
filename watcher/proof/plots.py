"""The report's plots: ranges against the truth, errors over time and drop, cost against moulds and frames."""

from __future__ import annotations

from collections.abc import Sequence

from watcher.proof.blocks import Drawing
from watcher.proof.calibration import CalibrationCurve, of_levels, of_votes
from watcher.proof.level_score import LevelError
from watcher.proof.results import LongRun, RecordingProof, SpeedRow, straight_line
from watcher.proof.svg_plot import Band, Curve, Plot, Points


def calibration_curves(recordings: Sequence[RecordingProof]) -> tuple[CalibrationCurve, ...]:
    """Hold the ranges of levels, walls and moments against the truth, all recordings together."""
    outcomes = [outcome for one in recordings for outcome in one.scored.casts.outcomes]
    errors = [error for one in recordings if one.scored.levels for error in one.scored.levels.errors]
    return (
        of_levels(errors),
        of_votes("wall", [vote for outcome in outcomes for vote in outcome.wall_votes]),
        of_votes("moment of ready", [vote for outcome in outcomes for vote in outcome.ready_votes]),
    )


def calibration_plot(recordings: Sequence[RecordingProof]) -> Drawing:
    """Plot claimed against held."""
    right = Curve("as claimed", ((0.0, 0.0), (1.0, 1.0)), dashed=True, colour=5)
    plot = Plot(
        "Ranges: claimed against held",
        "chance that a range claims to hold the truth",
        "share that does",
        (*(_held(curve) for curve in calibration_curves(recordings)), right),
        x_range=(0.0, 1.0),
        y_range=(0.0, 1.0),
    )
    words = (
        "Below the dashed line ranges are too narrow, above it wider than they need be. Only the 80 % ranges "
        "are claimed; the others are those stretched as normal errors would."
    )
    return Drawing("calibration", plot, words)


def level_plot(one: RecordingProof) -> Drawing | None:
    """Every reading's error over time, one colour a mould; None: there are no levels to judge."""
    if one.scored.levels is None or not one.scored.levels.errors:
        return None
    errors = one.scored.levels.errors
    moulds = dict.fromkeys(error.mould for error in errors)
    curves = tuple(
        Curve(mould, _over_time(errors, mould), joined=False, marks=True, colour=number)
        for number, mould in enumerate(moulds)
    )
    plot = Plot(f"{one.scored.name}: error of the level", "minutes", "read minus true, mm", curves)
    return Drawing(f"levels_{_file_name(one.scored.name)}", plot, "Each point is one reading.")


def forecast_plot(one: RecordingProof) -> Drawing | None:
    """Plot what was foretold at a quarter, half and nine tenths of each cast; None: no cast became ready."""
    outcomes = one.scored.casts.outcomes
    if not outcomes:
        return None
    curves: list[Curve] = []
    bands: list[Band] = []
    for number, outcome in enumerate(outcomes):
        lasts_s = outcome.cast.lasts_s
        said = [
            (
                vote.share,
                (vote.middle - vote.truth) / lasts_s,
                (vote.low - vote.truth) / lasts_s,
                (vote.high - vote.truth) / lasts_s,
            )
            for vote in outcome.ready_votes
            if vote.low is not None and vote.middle is not None and vote.high is not None
        ]
        name = f"{outcome.cast.mould} {outcome.cast.number}"
        curves.append(Curve(name, tuple((s, m) for s, m, _, _ in said), marks=True, colour=number))
        bands.append(
            Band(name, tuple((s, lo) for s, _, lo, _ in said), tuple((s, hi) for s, _, _, hi in said), number)
        )
    plot = Plot(
        f"{one.scored.name}: the moment as foretold",
        "share of the cast's time gone",
        "foretold minus true, share of the cast's time",
        tuple(curves),
        tuple(bands),
        x_range=(0.2, 1.0),
        y_range=(-1.0, 1.5),
    )
    words = "Lines: the moment foretold; shaded: its 80 % range. Zero is right; what lies beyond is cut off."
    return Drawing(f"forecasts_{_file_name(one.scored.name)}", plot, words)


def moulds_plot(rows: Sequence[SpeedRow]) -> Drawing:
    """Cost of a look against the number of moulds, with a straight line through each size of picture."""
    curves: list[Curve] = []
    for number, width in enumerate(dict.fromkeys(row.width_px for row in rows)):
        points: Points = tuple(
            sorted((float(row.found), row.look.median_ms) for row in rows if row.width_px == width)
        )
        height = next(row.height_px for row in rows if row.width_px == width)
        curves.append(Curve(f"{width} x {height}", points, joined=False, marks=True, colour=number))
        line = straight_line(points)
        if line is not None:
            ends = (0.0, max(x for x, _ in points))
            fitted = tuple((x, line.start + line.slope * x) for x in ends)
            name = f"{line.start:.1f} ms + {line.slope:.2f} ± {line.slope_sigma:.2f} ms a mould"
            curves.append(Curve(name, fitted, dashed=True, colour=number))
    plot = Plot("Cost of a look", "moulds whose hole is looked into", "median of a look, ms", tuple(curves))
    return Drawing("cost_of_moulds", plot, "Drawn benches at rest, one thread, processor time.")


def frames_plot(run: LongRun) -> Drawing:
    """Plot what a frame costs, all in, while frames and readings pile up."""
    plot = Plot(
        "Cost of a frame over a long run",
        "frame",
        "from JPEG to state, ms",
        (Curve(f"{run.moulds} moulds", run.frame_ms, marks=True),),
    )
    return Drawing("cost_of_frames", plot, "Means over parts of the run; moulds are poured again and again.")


def memory_plot(run: LongRun) -> Drawing | None:
    """Resident memory over a long run; None where the system does not tell it."""
    if not run.memory_mb:
        return None
    curve = Curve("resident memory", run.memory_mb, marks=True)
    top = 1.2 * max(mb for _, mb in run.memory_mb)
    plot = Plot("Memory over a long run", "frame", "MB", (curve,), y_range=(0.0, top))
    return Drawing("memory", plot, "Of the process that does the thinking and draws the bench as well.")


def _held(curve: CalibrationCurve) -> Curve:
    points = tuple(zip(curve.claimed, curve.held, strict=True))
    return Curve(f"{curve.name} ({curve.count})", points, marks=True)


def _over_time(errors: Sequence[LevelError], mould: str) -> Points:
    return tuple((error.time_s / 60.0, error.error_mm) for error in errors if error.mould == mould)


def _file_name(name: str) -> str:
    return "".join(letter if letter.isalnum() else "_" for letter in name)
