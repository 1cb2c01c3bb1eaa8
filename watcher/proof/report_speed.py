"""The report's part on speed: what looking costs, as multiples of decoding the very same pictures."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from watcher.proof.bars import LOOK_MUST, LOOK_REACH, verdict
from watcher.proof.blocks import Block, Heading, Paragraph, Table
from watcher.proof.plots import frames_plot, memory_plot, moulds_plot
from watcher.proof.results import LongRun, RecordingProof, ServiceProof, SpeedProof, straight_line
from watcher.proof.summary import DAY_FRAMES, DAY_MOULDS, speed_ratio


def speed_blocks(speed: SpeedProof, recordings: Sequence[RecordingProof]) -> Iterator[Block]:
    """Compose the part on speed."""
    yield Heading("Speed")
    ratio = speed_ratio(speed)
    if ratio is not None:
        stands = verdict(max(ratio), LOOK_MUST, LOOK_REACH)
        yield Paragraph(
            f"A full look at a 1280 x 720 frame with six moulds at rest takes {ratio[0]:.2f} times as long "
            f"as decoding that JPEG by the means, {ratio[1]:.2f} by the medians (must be at most "
            f"{LOOK_MUST[1]:g}, reached for {LOOK_REACH[1]:g}; the larger counts: {stands}). The limit is 1: "
            "the picture has to be decoded before anybody can look at it. All of it is processor time of one "
            "thread in one run, decoding and looking turn by turn."
        )
    yield _rows(speed)
    yield moulds_plot(speed.rows)
    yield Paragraph(
        "`look` turns the picture into levels. `advance` brings tracking, fits and calls up to date, the "
        "seconds between the pictures included. By the clock, on the recordings' own frames: "
        f"{_of_recordings(recordings)}."
    )
    if speed.long_run is not None:
        yield from _long_run(speed.long_run)
    yield Paragraph(_service(speed.service))


def _rows(speed: SpeedProof) -> Table:
    head = (
        "picture", "moulds", "looked into", "decode, ms", "look, ms", "look / decode, medians", "means",
        "nine looks in ten, ms", "first look, ms", "advance, ms",
    )  # fmt: skip
    rows = []
    for row in speed.rows:
        means, medians = row.look.over(row.decode)
        rows.append((
            f"{row.width_px} x {row.height_px}", str(row.moulds), str(row.found),
            f"{row.decode.median_ms:.2f}", f"{row.look.median_ms:.2f}", f"{medians:.2f}", f"{means:.2f}",
            f"{row.look.ninth_ms:.2f}", f"{row.first_look_ms:.0f}", f"{row.advance.median_ms:.2f}",
        ))  # fmt: skip
    return Table(head, tuple(rows))


def _of_recordings(recordings: Sequence[RecordingProof]) -> str:
    said = []
    for one in recordings:
        if one.look is not None and one.decode is not None:
            means, medians = one.look.over(one.decode)
            said.append(f"{one.scored.name} {medians:.2f} by the medians, {means:.2f} by the means")
    return "; ".join(said) or "there are none"


def _long_run(run: LongRun) -> Iterator[Block]:
    each_s = run.seconds / run.frames
    whole = run.frames >= DAY_FRAMES
    how = "measured whole" if whole else f"reckoned from {run.frames} frames that were measured"
    line = straight_line(run.frame_ms)
    slope = ""
    if line is not None:
        grows = f"{1000 * line.slope:.1f} ± {1000 * line.slope_sigma:.1f} ms"
        slope = f" Along it a frame grows dearer by {grows} in 1,000 frames."
    day = f"{each_s * DAY_FRAMES / 60.0:.1f} minutes of processor time, {how}"
    if run.frames < run.cycle_frames:
        day = f"not told, as {run.frames} frames are too few: a frame grows dearer while casts grow older"
    yield Paragraph(
        f"A day of recording, {DAY_FRAMES} frames of {DAY_MOULDS} moulds: {day} ({1e3 * each_s:.1f} ms a "
        f"frame in this run, {run.casts} casts, drawing left out; one thread does all of it).{slope}"
    )
    yield frames_plot(run)
    memory = memory_plot(run)
    if memory is not None:
        late = straight_line(run.memory_mb[len(run.memory_mb) // 4 :])
        grows = ""
        if late is not None:
            grows = f": {1000 * late.slope:.2f} ± {1000 * late.slope_sigma:.2f} MB in 1,000 frames"
        yield Paragraph(f"Resident memory after the first quarter of that run{grows}.")
        yield memory


def _service(service: ServiceProof | str) -> str:
    if isinstance(service, str):
        return f"`tipbell watch`: {service}."
    return (
        f"`tipbell watch` answers {service.answers_after_s:.1f} s after it was started, having worked for "
        f"{service.worked_s:.1f} s, and takes {service.memory_mb:.0f} MB then and "
        f"{service.memory_later_mb:.0f} MB after {service.later_s:g} s at work."
    )
