"""One recording judged: its lines, the plain baselines on the same frames, limits, worst readings."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from statistics import fmean, median, quantiles

from watcher.camera.recording import Recording, read_recording
from watcher.camera.recording_rows import PictureRow
from watcher.commands.prove_measuring import Measurement, measured
from watcher.commands.refused import Refused
from watcher.proof.bars import Scored
from watcher.proof.cast_score import cast_figures
from watcher.proof.edge_limit import EdgeLimit, TrueLine, edge_limit, line_contrast, pixel_noise
from watcher.proof.level_score import LevelFigures, asked_for, level_figures
from watcher.proof.measured_lines import MeasuredLine, by_moment, key
from watcher.proof.plain_times import plain_times
from watcher.proof.results import RecordingProof, Took, WorstReading
from watcher.proof.strongest_edge import strongest_edge_mm
from watcher.proof.threshold_level import threshold_level_mm
from watcher.proof.true_view import TrueHole, TrueView
from watcher.proof.truth_tables import NoTruth, TrueRow, Truth, read_truth, true_casts
from watcher.proof.water_balance import error_cost
from watcher.proof.worst_readings import ToDraw, cut_out, worst_of
from watcher.records.frames import Image, NoFrame
from watcher.setup.bench_file import read_bench

WORST_SHOWN = 4


@dataclass(frozen=True, slots=True)
class _Plain:
    """What baselines and limits came to on the frames of one recording."""

    blob: LevelFigures | None
    edge: LevelFigures | None
    limits: tuple[EdgeLimit, ...]


def judge_recording(
    folder: Path, *, simulated: bool = False, advanced: Callable[[], None] = lambda: None
) -> RecordingProof:
    """Measure one recording and hold it against its truth.

    Parameters
    ----------
    folder : Path
    simulated : bool
        It was drawn by the simulator.
    advanced : callable
        Told after each moment measured.

    Raises
    ------
    RecordingError
        The recording cannot be used.
    Refused
        It has no truth.
    """
    recording = read_recording(folder)
    try:
        truth = read_truth(folder)
    except NoTruth as fault:
        raise Refused(str(fault)) from None
    found = measured(recording, advanced)
    levels = level_figures(truth, found.lines) if truth.by_sight else None
    casts = cast_figures(truth, found.lines, found.said)
    view = (
        TrueView(recording.layout, read_bench(folder / "recording.toml"), truth) if truth.by_sight else None
    )
    plain = _plain(recording, truth, view) if view is not None else _Plain(None, None, ())
    profiles = {mould.name: mould.profile for mould in recording.layout.moulds}
    costs = (
        error_cost(profiles[cast.mould], recording.slip, cast, truth)
        for cast in true_casts(truth.events)
        if any(outcome.cast == cast for outcome in casts.outcomes)
    )
    return RecordingProof(
        Scored(folder.name, levels, casts),
        plain.blob,
        plain.edge,
        plain_times(truth, found.lines, tuple(profiles.values()), recording.slip),
        plain.limits,
        tuple(cost for cost in costs if cost is not None),
        _worst(recording, truth, view, found, levels) if view is not None and levels is not None else (),
        took(found.watch.decode_s),
        took(found.watch.look_s),
        len(profiles),
        len(recording.times_s),
        found.whole_s,
        simulated,
    )


def took(seconds: list[float]) -> Took | None:
    """Sum up times; None where there are none."""
    if not seconds:
        return None
    ninth = quantiles(seconds, n=10)[-1] if len(seconds) > 1 else seconds[0]
    return Took(1e3 * fmean(seconds), 1e3 * median(seconds), 1e3 * ninth, len(seconds))


def _plain(recording: Recording, truth: Truth, view: TrueView) -> _Plain:
    """Let the baselines read every level that is asked for, and bound it."""
    asked: dict[float, list[TrueRow]] = defaultdict(list)
    for row in truth.rows:
        if asked_for(row) and row.level_mm is not None:
            asked[round(row.time_s, 2)].append(row)
    blobs: list[MeasuredLine] = []
    edges: list[MeasuredLine] = []
    lines: list[TrueLine] = []
    noises: list[float] = []
    before: Image | None = None
    for picture in recording.pictures:
        image = _picture(recording, picture)
        camera = view.camera(image, picture.time_s) if image is not None else None
        if image is None or camera is None:
            continue
        noise = None if before is None else pixel_noise(image, before)
        noises += [] if noise is None else [noise]
        before = image
        for row in asked.get(round(picture.time_s, 2), ()):
            hole = view.hole(camera, row.mould, row.time_s)
            if hole is None or row.level_mm is None:
                continue
            blobs.append(_line(row, threshold_level_mm(image, hole)))
            edges.append(_line(row, strongest_edge_mm(image, hole)))
            contrast = line_contrast(image, hole, row.level_mm, _clay_mm(hole, row))
            if contrast is not None:
                lines.append(TrueLine(row.mould, row.time_s, hole.view(), row.level_mm, contrast))
    if not blobs or not noises:
        return _Plain(None, None, ())
    limits = (edge_limit(line, median(noises)) for line in lines)
    bounded = tuple(limit for limit in limits if limit is not None)
    return _Plain(_in_its_favour(truth, blobs), _in_its_favour(truth, edges), bounded)


def _in_its_favour(truth: Truth, lines: list[MeasuredLine]) -> LevelFigures:
    """Judge a baseline after its own best constant was taken off, chosen with the truth in hand."""
    true = {key(row.time_s, row.mould): row.level_mm for row in truth.rows}
    off = [
        line.level_mm - level
        for line in lines
        if line.level_mm is not None and (level := true[key(line.time_s, line.mould)]) is not None
    ]
    best = median(off) if off else 0.0
    shifted = [
        MeasuredLine(
            line.time_s,
            line.mould,
            line.seen,
            None if line.level_mm is None else line.level_mm - best,
            None,
        )
        for line in lines
    ]
    return level_figures(truth, by_moment(shifted))


def _line(row: TrueRow, level_mm: float | None) -> MeasuredLine:
    return MeasuredLine(row.time_s, row.mould, level_mm is not None, level_mm, None)


def _clay_mm(hole: TrueHole, row: TrueRow) -> float:
    """Clay on the wall at the true line: from the slip's own radius, else as thick as the wall."""
    if row.free_radius_mm is None or row.level_mm is None:
        return row.wall_mm
    return max(0.0, float(hole.mould.profile.radius_mm(row.level_mm)) - row.free_radius_mm)


def _worst(
    recording: Recording, truth: Truth, view: TrueView, found: Measurement, levels: LevelFigures
) -> tuple[WorstReading, ...]:
    rows = {key(row.time_s, row.mould): row for row in truth.rows}
    shown: list[WorstReading] = []
    for error in worst_of(levels.errors, WORST_SHOWN):
        at = key(error.time_s, error.mould)
        row, lines = rows[at], found.found.get(at)
        image = _picture(recording, found.pictures[at[0]])
        camera = view.camera(image, error.time_s) if image is not None else None
        hole = view.hole(camera, error.mould, error.time_s) if camera is not None else None
        if image is None or hole is None or lines is None or row.level_mm is None:
            continue
        true = hole.ring_px(row.level_mm, _clay_mm(hole, row))
        jpeg = cut_out(image, ToDraw(lines.line_rc, true, hole.ring_px(0.0)))
        read_mm = row.level_mm + error.error_mm
        shown.append(
            WorstReading(recording.folder.name, error.mould, error.time_s, read_mm, row.level_mm, jpeg)
        )
    return tuple(shown)


def _picture(recording: Recording, row: PictureRow) -> Image | None:
    data = recording.encoded(row)
    frame = data if isinstance(data, NoFrame) else recording.decoded(row, data)
    return None if isinstance(frame, NoFrame) else frame.image
