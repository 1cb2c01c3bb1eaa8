"""What stands beside each bar: the limit that nature sets, and what a plain program gets instead."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from watcher.proof.bars import BARS, Bar, Scored
from watcher.proof.cast_score import NO_LINE_SHARE, CastFigures, middle, worst
from watcher.proof.edge_limit import EdgeLimit
from watcher.proof.level_score import LevelFigures
from watcher.proof.results import RecordingProof
from watcher.proof.water_balance import ErrorCost
from watcher.proof.words import figure, median

NO_CASTS = CastFigures((), 0)


def limits(recordings: Sequence[RecordingProof]) -> Mapping[str, str]:
    """Say for every bar, by its name, what no program could better."""
    edges = [limit for one in recordings for limit in one.edge_limits]
    costs = [cost for one in recordings for cost in one.costs]
    said = {bar.name: "0" for bar in BARS}
    said["read_share"] = "100 %"
    said |= {"level_rms_mm": _edge(edges, film_known=False), "drop_rms_mm": _edge(edges, film_known=True)}
    wall = _costs(costs, "mm", lambda cost: cost.wall_mm)
    said |= {name: f"0.1 mm of drop is {wall} of wall" for name in ("wall_median_mm", "wall_worst_mm")}
    time = _costs(costs, "%", lambda cost: cost.share)
    said |= {name: f"0.1 mm of drop is {time} of the time" for name in ("call_median", "call_worst")}
    half = _costs(costs, "%", lambda cost: cost.half_share)
    said |= {name: f"0.1 mm of drop by then is {half}" for name in ("half_median", "half_worst")}
    return said


def plain(recordings: Sequence[RecordingProof]) -> Mapping[str, str]:
    """Say for every bar, by its name, what the plain baselines came to: the worst of all recordings."""
    said = {bar.name: "–" for bar in BARS}
    for bar in BARS[:4]:
        blob = _worst(bar, [one.blob for one in recordings])
        edge = _worst(bar, [one.edge for one in recordings])
        said[bar.name] = f"blob {figure(blob, bar.unit)}, edge {figure(edge, bar.unit)}"
    roots = {"call_median": middle, "call_worst": worst}
    for name, pick in roots.items():
        found = [pick(one.times.root_calls) for one in recordings]
        said[name] = f"root fit {figure(_largest(found), '%')}"
    for name, pick in {"half_median": middle, "half_worst": worst}.items():
        found = [pick(one.times.root_half) for one in recordings]
        last = [pick(one.times.last_time) for one in recordings]
        said[name] = f"root fit {figure(_largest(found), '%')}, last time {figure(_largest(last), '%')}"
    missed = sum(call == NO_LINE_SHARE for one in recordings for call in one.times.root_calls)
    said["ready_missed"] = f"root fit {missed} in all"
    return said


def _edge(limits_: Sequence[EdgeLimit], *, film_known: bool) -> str:
    if not limits_:
        return "–"
    values = [limit.known_mm if film_known else limit.prior_mm for limit in limits_]
    said = f"edge bound {figure(median(values), 'mm')}"
    if film_known:
        return said
    forecast = median([limit.forecast_mm for limit in limits_])
    return f"{said}; with what is left unknown of film, rim and meniscus {figure(forecast, 'mm')}"


def _costs(costs: Sequence[ErrorCost], unit: str, pick: Callable[[ErrorCost], float | None]) -> str:
    values = [value for cost in costs if (value := pick(cost)) is not None]
    if not values:
        return "–"
    return f"{figure(min(values), unit)} to {figure(max(values), unit)}"


def _worst(bar: Bar, levels: Sequence[LevelFigures | None]) -> float | None:
    found = [bar.of(Scored("", one, NO_CASTS)) for one in levels if one is not None]
    known = [value for value in found if value is not None]
    if not known:
        return None
    return min(known) if bar.name == "read_share" else max(known)


def _largest(values: Sequence[float | None]) -> float | None:
    return max((value for value in values if value is not None), default=None)
