"""The proof as plain data: what is kept in the repository, and what the README's figures come from."""

from __future__ import annotations

import math
from collections.abc import Sequence

from watcher.proof.bars import (
    LOOK_MUST,
    LOOK_REACH,
    RANGES_MUST,
    RANGES_REACH,
    judged,
    pooled_votes,
    verdict,
)
from watcher.proof.beside import limits, plain
from watcher.proof.calibration import expected_by_chance
from watcher.proof.cast_score import widths
from watcher.proof.results import Proof, RecordingProof, SoakProof, SpeedProof, SpeedRow, straight_line
from watcher.proof.words import allowed, figure, median

DAY_FRAMES, DAY_MOULDS = 5760, 6

Entry = dict[str, object]


def summary(proof: Proof) -> Entry:
    """Sum a proof up as data that JSON can hold, rounded to four figures after the point.

    Recordings that the simulator drew are told apart: the bars are judged on the others.
    """
    real = judged_on(proof.recordings)
    return {
        "tipbell": proof.version,
        "machine": proof.machine,
        "recordings": [
            {
                "name": one.scored.name,
                "frames": one.frames,
                "moulds": one.moulds,
                "casts": len(one.scored.casts.outcomes),
                "drawn": one.simulated,
            }
            for one in proof.recordings
        ],
        "bars": bar_entries(real),
        "drawn_bars": [
            {"name": entry.bar.name, "found": _rounded(entry.found), "stands": entry.verdict}
            for entry in judged([one.scored for one in proof.recordings if one.simulated])
        ],
        "speed": None if proof.speed is None else _speed(proof.speed),
        "soak": _soak(proof.soak),
        "drawn_casts": [
            {
                "known": row.known.value,
                "share": row.share,
                "casts": row.casts,
                "ready_median": _rounded(row.ready_median),
                "ready_nine_in_ten": _rounded(row.ready_ninth),
                "ready_held": _rounded(row.ready_held),
                "wall_held": _rounded(row.wall_held),
                "last_time_median": _rounded(row.last_time_median),
                "root_fit_median": _rounded(row.root_fit_median),
            }
            for row in proof.trials
        ],
        "drawn_casts_seed": proof.trial_seed,
    }


def judged_on(recordings: Sequence[RecordingProof]) -> tuple[RecordingProof, ...]:
    """Return the recordings that bars are judged on: those not drawn, or all where there are no others."""
    real = tuple(one for one in recordings if not one.simulated)
    return real or tuple(recordings)


def bar_entries(recordings: Sequence[RecordingProof]) -> list[Entry]:
    """Every bar in words and figures, with what stands beside it."""
    scored = [one.scored for one in recordings]
    natural, rival = limits(recordings), plain(recordings)
    rows = [
        _entry(j.bar.name, j.bar.what, j.bar.unit, (j.bar.must, j.bar.reach), j.found, natural[j.bar.name],
               rival[j.bar.name], {name: _rounded(found) for name, found in j.each})
        for j in judged(scored)
    ]  # fmt: skip
    wall_held, walls, ready_held, readies = pooled_votes(scored)
    outcomes = [outcome for one in scored for outcome in one.casts.outcomes]
    ready_width = median(
        [w for outcome in outcomes for w in widths(outcome.ready_votes, outcome.cast.lasts_s)]
    )
    wall_width = median([w for outcome in outcomes for w in widths(outcome.wall_votes)])
    for name, what, held, count, width in (
        ("wall_ranges", "80 % ranges of the wall that hold the truth", wall_held, walls,
         f"median width {figure(wall_width, 'mm')}"),
        ("ready_ranges", "80 % ranges of the moment that hold the truth", ready_held, readies,
         f"median width {figure(ready_width, '%')} of the cast"),
        ("all_ranges", "both together", wall_held + ready_held, walls + readies, ""),
    ):  # fmt: skip
        low, high = expected_by_chance(count)
        chance = f"right ranges, judged {count} times: {figure(low, '%')} to {figure(high, '%')}"
        chance += f"; {width}" if width else ""
        share = held / count if count else None
        rows.append(_entry(name, what, "%", (RANGES_MUST, RANGES_REACH), share, chance, "–", {}))
    return rows


def speed_ratio(speed: SpeedProof) -> tuple[float, float] | None:
    """Full look at six moulds at rest at 1280x720 over decoding: ratio of the means, of the medians."""
    row = next((r for r in speed.rows if (r.width_px, r.moulds) == (1280, 6)), None)
    return None if row is None else row.look.over(row.decode)


def _entry(
    name: str,
    what: str,
    unit: str,
    spans: tuple[tuple[float, float], tuple[float, float]],
    found: float | None,
    limit: str,
    rival: str,
    each: dict[str, float | None],
) -> Entry:
    must, reach = spans
    return {
        "name": name,
        "what": what,
        "must": allowed(must, unit),
        "reach": allowed(reach, unit),
        "found": _rounded(found),
        "found_words": figure(found, unit),
        "stands": verdict(found, must, reach),
        "limit": limit,
        "plain": rival,
        "each": each,
        "unit": unit,
    }


def _speed(speed: SpeedProof) -> Entry:
    ratio = speed_ratio(speed)
    said: Entry = {"rows": [_speed_row(row) for row in speed.rows]}
    if ratio is not None:
        said["look_over_decode"] = _rounded(max(ratio))
        said["look_stands"] = verdict(max(ratio), LOOK_MUST, LOOK_REACH)
    if speed.long_run is not None:
        run = speed.long_run
        slope = straight_line(run.memory_mb[len(run.memory_mb) // 4 :])
        if run.frames >= run.cycle_frames:
            said["day_minutes"] = _rounded(run.seconds / run.frames * DAY_FRAMES / 60.0)
        said["day_measured_frames"] = run.frames
        said["memory_mb_per_1000_frames"] = None if slope is None else _rounded(1000.0 * slope.slope)
    if isinstance(speed.service, str):
        said["service"] = speed.service
    else:
        said["starts_within_s"] = _rounded(speed.service.answers_after_s)
        said["starts_with_work_s"] = _rounded(speed.service.worked_s)
        said["memory_mb"] = _rounded(speed.service.memory_later_mb)
    return said


def _soak(soak: SoakProof | str | None) -> Entry | str | None:
    if not isinstance(soak, SoakProof):
        return soak
    line = soak.growth()
    flat = soak.flat()
    return {
        "days": soak.days,
        "casts": soak.casts,
        "restarts": soak.restarts,
        "casts_lost": soak.unnoticed,
        "casts_invented": soak.invented,
        "ready_missed": soak.missed,
        "ready_false": soak.false,
        "memory_mb_per_day": None if line is None else _rounded(line.slope),
        "memory_mb_per_day_sigma": None if line is None else _rounded(line.slope_sigma),
        "memory_stands": "not judged" if flat is None else "reached" if flat else "missed",
        "lost_stands": "missed" if soak.unnoticed else "reached",
    }


def _speed_row(row: SpeedRow) -> Entry:
    mean, middle = row.look.over(row.decode)
    return {
        "width_px": row.width_px,
        "height_px": row.height_px,
        "moulds": row.moulds,
        "found": row.found,
        "decode_ms": _rounded(row.decode.median_ms),
        "look_ms": _rounded(row.look.median_ms),
        "advance_ms": _rounded(row.advance.median_ms),
        "look_over_decode_mean": _rounded(mean),
        "look_over_decode_median": _rounded(middle),
    }


def _rounded(value: float | None) -> float | None:
    return None if value is None or not math.isfinite(value) else round(value, 4)
