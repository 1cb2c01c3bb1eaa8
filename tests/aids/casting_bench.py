"""A bench on which a beaker is cast with a given estimate, for tests of what is called when."""

from __future__ import annotations

from dataclasses import replace

from bench_looks import bench, look, run

from models.tip import TipEstimate
from watcher.records.bench import Bench
from watcher.records.readings import Contents


def casting(
    *,
    ready_s: float = 600.0,
    latest_s: float | None = 720.0,
    mould: str = "beaker",
    present: Bench | None = None,
) -> Bench:
    """A mould filled at 50 s whose wall will be there at `ready_s`, as if its levels had said so."""
    looks = [look(4, contents=Contents.EMPTY, mould=mould), look(50, level_mm=2.5, mould=mould)]
    present, _ = run(bench() if present is None else present, looks)
    tip = TipEstimate(1.0, 0.9, 1.1, ready_s, ready_s - 40, ready_s + 40, latest_s=latest_s)
    state = present.moulds[mould]
    assert state.cast is not None
    # no fit: nothing but the estimate speaks
    state = replace(state, cast=replace(state.cast, estimate=tip, fit=None))
    return replace(present, moulds={**present.moulds, mould: state})
