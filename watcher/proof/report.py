"""The report: every figure with its bar, its limit and its plain rival; what is missed is called so."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import cast

from watcher.proof.bars import LOOK_MUST, LOOK_REACH, verdict
from watcher.proof.blocks import Block, Drawing, Heading, Paragraph, Photograph, Table
from watcher.proof.calibration import CLAIMS
from watcher.proof.plots import calibration_curves, calibration_plot, forecast_plot, level_plot
from watcher.proof.report_speed import speed_blocks
from watcher.proof.results import Proof, RecordingProof, SoakProof, SpeedProof
from watcher.proof.summary import Entry, bar_entries, judged_on, speed_ratio
from watcher.proof.words import figure, joined, median

BESIDE = (
    "The limit is what no program could better with this camera and these holes. For levels: the Cramer-Rao "
    "bound of the line in one picture, median of all lines, from the contrast and the noise that these "
    "frames "
    "have (half the pixels taken to be independent); noise is not what limits a reading, what is unknown of "
    "film, rim and meniscus is, and the second figure reckons with it. For walls and times: what a "
    "level error "
    "of 0.1 mm costs when the mould is ready, from the cheapest mould to the dearest; wall by the balance of "
    "volume, time by the true fall. Plain rivals see the same frames and are helped: the rim's true place is "
    "given to them, each has its own best constant taken off with the truth in hand, and the root fit "
    "is told "
    "when the mould was full and given the levels that Tipbell read. `blob` splits the hole in two by "
    "brightness, `edge` takes the strongest step down the far wall; neither knows of film and cake."
)
NOT_HERE = (
    "Not measured by this command: whether a cast is lost by a kill, a power cut, a full disk or a camera "
    "pulled out. That is held by tests (`tests/paths/test_killed_service.py` and those of memory and camera)."
)


def report(proof: Proof) -> tuple[Block, ...]:
    """Compose the whole report."""
    return tuple(_blocks(proof))


def tables_only(proof: Proof) -> tuple[Block, ...]:
    """Compose the same without plots and photographs."""
    blocks = [block for block in _blocks(proof) if not isinstance(block, Drawing | Photograph)]
    return tuple(block for block in blocks if block not in _OF_WORST)


def _blocks(proof: Proof) -> Iterator[Block]:
    real = judged_on(proof.recordings)
    drawn = [one for one in proof.recordings if one.simulated and one not in real]
    entries = bar_entries(real)
    missed = sum(entry["stands"] == "missed" for entry in entries)
    yield Heading("How well Tipbell does", 1)
    yield Paragraph(_what_was_judged(proof, real, drawn))
    yield Heading("The bars")
    yield Paragraph(
        f"{missed} of {len(entries)} bars are missed. Each figure is that of the worst recording, but "
        f"for the "
        "ranges, which are pooled over all casts."
    )
    yield _bars_table(entries, proof.speed)
    yield Paragraph(BESIDE)
    if proof.soak is not None:
        yield Paragraph(_soak(proof.soak))
    yield Paragraph(NOT_HERE)
    yield Heading("Recording by recording")
    yield _each_table(bar_entries(proof.recordings), proof.recordings)
    yield Heading("Limits")
    yield _limits_table(proof.recordings)
    yield Heading("Ranges")
    yield _ranges_table(real)
    yield calibration_plot(real)
    for one in proof.recordings:
        yield from (plot for plot in (level_plot(one), forecast_plot(one)) if plot is not None)
    yield from _OF_WORST
    yield from _worst(proof.recordings)
    if proof.trials:
        yield from _trials(proof)
    if proof.speed is not None:
        yield from speed_blocks(proof.speed, proof.recordings)


_OF_WORST = (
    Heading("The worst readings"),
    Paragraph(
        "Left the picture as it is, right the line that was found (red) and the true one (green), which is "
        "the far part of the slip's edge at its true depth."
    ),
)


def _ranges_table(recordings: Sequence[RecordingProof]) -> Table:
    """Of the ranges that claim to hold the truth so often, how many do."""
    curves = calibration_curves(recordings)
    picked = [CLAIMS.index(claim) for claim in (0.5, 0.8, 0.9, 0.95)]
    head = ("ranges of", "judged", *(f"that claim {figure(CLAIMS[i], '%')}" for i in picked))
    rows = tuple(
        (curve.name, str(curve.count), *(figure(curve.held[i], "%") for i in picked)) for curve in curves
    )
    return Table(head, rows)


def _what_was_judged(proof: Proof, real: Sequence[RecordingProof], drawn: Sequence[RecordingProof]) -> str:
    frames = sum(one.frames for one in real)
    casts = sum(len(one.scored.casts.outcomes) for one in real)
    said = (
        f"Tipbell {proof.version}, on {proof.machine}. Judged on {joined([o.scored.name for o in real])}: "
        f"{frames} frames, {casts} casts that truly became ready, measured as `tipbell measure` does it."
    )
    if drawn:
        said += (
            f" Beside them {joined([one.scored.name for one in drawn])}, drawn by the simulator: "
            f"simpler than "
            "a photograph, told apart below and left out of the bars."
        )
    return said


def _soak(soak: SoakProof | str) -> str:
    if isinstance(soak, str):
        return f"Simulated days were not judged: {soak}."
    line, flat = soak.growth(), soak.flat()
    grew = "too few days to tell whether memory is flat"
    if line is not None:
        stands = {True: "flat", False: "not flat: missed", None: "not to be told whether flat"}[flat]
        grew = (
            f"memory grows by {line.slope:.2f} ± {line.slope_sigma:.2f} MB a day after the first ({stands})"
        )
    return (
        f"{soak.days} simulated days of {soak.moulds} moulds through the whole service, levels handed over "
        f"instead of pictures: {soak.casts} casts, {soak.restarts} new starts; {grew}, {soak.more_files} "
        f"more open files; {soak.unnoticed} casts lost, {soak.invented} invented, {soak.missed} `ready` "
        f"missed, {soak.false} false."
    )


def _bars_table(entries: Sequence[Entry], speed: SpeedProof | None) -> Table:
    head = ("what", "must be", "reached for", "found", "stands", "limit", "plain rival")
    keys = ("what", "must", "reach", "found_words", "stands", "limit", "plain")
    rows = [tuple(str(entry[key]) for key in keys) for entry in entries]
    ratio = None if speed is None else speed_ratio(speed)
    if ratio is not None:
        stands = verdict(max(ratio), LOOK_MUST, LOOK_REACH)
        what, found = "full look at six moulds at rest, times decoding that JPEG", f"{max(ratio):.2f}"
        rows.append((what, *(f"at most {most[1]:g}" for most in (LOOK_MUST, LOOK_REACH)), found, stands,
                     "decoding itself: 1", "–"))  # fmt: skip
    return Table(head, tuple(rows))


def _each_table(entries: Sequence[Entry], recordings: Sequence[RecordingProof]) -> Table:
    names = [one.scored.name for one in recordings]
    rows = []
    for entry in entries:
        each = cast(dict[str, float | None], entry["each"])
        if each:
            rows.append((str(entry["what"]), *(figure(each[name], str(entry["unit"])) for name in names)))
    rows.append(
        ("80 % range of the level holds the truth", *(
            figure(one.scored.levels.range_held if one.scored.levels else None, "%") for one in recordings
        ))
    )  # fmt: skip
    rows.append(
        ("mean error of the level", *(
            figure(one.scored.levels.bias_mm if one.scored.levels else None, "mm") for one in recordings
        ))
    )  # fmt: skip
    rows.append(("casts that became ready", *(str(len(one.scored.casts.outcomes)) for one in recordings)))
    return Table(("what", *names), tuple(rows))


def _limits_table(recordings: Sequence[RecordingProof]) -> Table:
    """One row for each mould: what the line in its hole allows, and what 0.1 mm costs it."""
    head = (
        "recording", "mould", "contrast, grey levels", "noise", "edge bound, film known",
        "film as the balance has it", "with film, rim, meniscus", "drop when ready", "0.1 mm is in wall",
        "in minutes", "of its time",
    )  # fmt: skip
    rows = []
    for one in recordings:
        moulds = dict.fromkeys([limit.mould for limit in one.edge_limits] + [c.mould for c in one.costs])
        for mould in moulds:
            limits = [limit for limit in one.edge_limits if limit.mould == mould]
            costs = [cost for cost in one.costs if cost.mould == mould]
            minutes = median([cost.minutes for cost in costs])
            contrast, noise = median([e.contrast for e in limits]), median([e.noise for e in limits])
            rows.append((
                one.scored.name,
                mould,
                "–" if contrast is None else f"{contrast:.0f}",
                "–" if noise is None else f"{noise:.1f}",
                figure(median([limit.known_mm for limit in limits]), "mm"),
                figure(median([limit.prior_mm for limit in limits]), "mm"),
                figure(median([limit.forecast_mm for limit in limits]), "mm"),
                figure(median([cost.drop_mm for cost in costs]), "mm"),
                figure(median([cost.wall_mm for cost in costs]), "mm"),
                "–" if minutes is None else f"{minutes:.2f}",
                figure(median([cost.share for cost in costs]), "%"),
            ))  # fmt: skip
    return Table(head, tuple(rows))


def _worst(recordings: Sequence[RecordingProof]) -> Iterator[Photograph]:
    for one in recordings:
        for number, reading in enumerate(one.worst, start=1):
            words = (
                f"{reading.recording}, {reading.mould} at {reading.time_s:.0f} s: read "
                f"{reading.read_mm:.2f} mm, truly {reading.true_mm:.2f} mm"
            )
            name = "".join(letter if letter.isalnum() else "_" for letter in reading.recording)
            yield Photograph(f"worst_{name}_{number}", reading.jpeg, words)


def _trials(proof: Proof) -> Iterator[Block]:
    casts = max(row.casts for row in proof.trials)
    yield Heading("Drawn casts")
    yield Paragraph(
        f"No pictures: {casts} casts for each row, drawn from wide spreads of moulds, slips, plasters "
        f"and errors "
        f"of reading (seed {proof.trial_seed}), fitted at three moments. Last cast's time is there where the "
        "mould had one. The root fit is a straight line of the level over the root of time."
    )
    head = (
        "known", "moment", "`ready` off, median", "nine in ten", "80 % range holds", "its width",
        "wall off, median", "80 % range holds", "last cast's time, median", "root fit, median",
    )  # fmt: skip
    rows = tuple(
        (
            row.known.value,
            figure(row.share, "%"),
            figure(row.ready_median, "%"),
            figure(row.ready_ninth, "%"),
            figure(row.ready_held, "%"),
            figure(row.ready_width, "%"),
            figure(row.wall_median_mm, "mm"),
            figure(row.wall_held, "%"),
            figure(row.last_time_median, "%"),
            figure(row.root_fit_median, "%"),
        )
        for row in proof.trials
    )
    yield Table(head, rows)
