"""The pour plan of a day: every pour, top-up, tip and demould within one or two pairs of hands."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from models.plan_exact import MOST_CASTS, best_starts
from models.plan_hands import GRID_MIN, CastParts, HandsDay, Part, cast_parts, to_grid
from models.plan_jobs import Plan, PlanAsk, PlannedSet, Step, StepKind, check_ask
from models.plan_sets import SetParts, lay_set, planned, sets_of
from models.pour_next import day_with_running, tip_parts

_TRIES_OF_320_CASTS = 24  # of one planning run; smaller plans get more tries for the same work
_MOST_TRIES = 250
_SLACK_SHARES = (
    1.0,
    0.6,
    0.35,
    0.2,
    0.1,
    0.05,
    0.0,
)  # of the slack asked for; the first that costs no pot is taken


@dataclass(frozen=True, slots=True)
class _Placed:
    mould: int
    cast: int
    start: int
    parts: CastParts
    demould_at: int | None


@dataclass(frozen=True, slots=True)
class _Draft:
    placed: tuple[_Placed, ...]
    pots: int
    ends: int
    sets: tuple[PlannedSet, ...] = ()


def plan_day(ask: PlanAsk, *, seed: int = 0) -> Plan:
    """Plan which mould to pour when.

    Parameters
    ----------
    ask : PlanAsk
    seed : int
        The tries are random but always the same for one seed.

    Returns
    -------
    Plan
        As many sets together and as many of the wanted pots as fit, then the most slack of seven grades,
        then the earliest end.

    Notes
    -----
    Casts are laid in one after the other, each at its first fit; the order is searched by random keys,
    improved one at a time. Where a few moulds are cast once, every chain is tried instead. A demould
    that does not fit before closing is left for the morning, and its mould with it.
    """
    check_ask(ask)
    wanted = [min(m.wanted, len(m.cast_min)) for m in ask.moulds]
    tries = min(_MOST_TRIES, _TRIES_OF_320_CASTS * 320 // max(sum(wanted), 1))
    looks = [
        _best(replace(ask, slack=share * ask.slack), wanted, tries // 10, seed) for share in _SLACK_SHARES
    ]
    most = max((len(look.sets), look.pots) for look in looks)
    shares = zip(_SLACK_SHARES, looks, strict=True)
    slack = next(s for s, look in shares if (len(look.sets), look.pots) == most) * ask.slack
    ask = replace(ask, slack=slack)
    best = _best(ask, wanted, tries, seed)
    missing = []
    for i, mould in enumerate(ask.moulds):
        made = sum(p.mould == i for p in best.placed)
        if made < mould.wanted:
            missing.append((mould.name, mould.wanted - made))
    steps = sorted(
        (step for placed in best.placed for step in _steps(ask, placed)), key=lambda s: (s.at_min, s.mould)
    )
    return Plan(tuple(steps), best.pots, tuple(missing), best.ends * GRID_MIN, slack, best.sets)


def _best(ask: PlanAsk, wanted: list[int], tries: int, seed: int) -> _Draft:
    count = len(ask.moulds)
    if not sum(wanted):
        return _Draft((), 0, 0)
    layouts = [
        [cast_parts(mould, n, ask.slack) for n in range(wanted[i])] for i, mould in enumerate(ask.moulds)
    ]
    totals = [sum(m.cast_min[:w]) for m, w in zip(ask.moulds, wanted, strict=True)]
    longest_first = -np.array(totals) / 1e3
    sets = sets_of(ask, wanted)
    best = _lay(ask, layouts, sets, longest_first)
    if count <= MOST_CASTS and max(wanted, default=0) <= 1:
        return _better(best, _exact(ask, layouts, sets, best))
    rng = np.random.default_rng(seed)
    spread = float(np.mean([m.cast_min[0] for m in ask.moulds if m.cast_min] or [1.0]))
    keys = longest_first
    for n in range(tries):
        if n < tries // 4:
            trial = rng.uniform(0.0, spread, count)
        else:
            trial = keys.copy()
            trial[rng.integers(count)] += rng.normal(0.0, spread)
        draft = _lay(ask, layouts, sets, trial)
        if _better(best, draft) is draft:
            best, keys = draft, trial
    return best


def _exact(ask: PlanAsk, layouts: list[list[CastParts]], sets: tuple[SetParts, ...], best: _Draft) -> _Draft:
    """Try every chain of a few casts; demoulding then takes the hands that are left."""
    closing = to_grid(ask.closing_min)
    day = day_with_running(ask, closing)
    cast = [i for i, parts in enumerate(layouts) if parts]
    before = best.ends if (len(best.sets), best.pots) == (len(sets), len(cast)) else closing + 1
    starts = best_starts(
        day,
        [part for c in ask.running for part in tip_parts(c, ask.slack)],
        [layouts[i][0] for i in cast],
        [to_grid(ask.moulds[i].free_at_min) for i in cast],
        before,
        [replace(one, moulds=tuple(cast.index(i) for i in one.moulds)) for one in sets],
    )
    if starts is None:
        return best
    for i, start in zip(cast, starts, strict=True):
        day.book(layouts[i][0].rigid, start)
    placed = []
    for i, start in sorted(zip(cast, starts, strict=True), key=lambda pair: pair[1]):
        parts = layouts[i][0]
        placed.append(_Placed(i, 0, start, parts, _demould(day, parts, start, closing)))
    at = dict(zip(cast, starts, strict=True))
    together = tuple(planned(one, {i: layouts[i][0] for i in one.moulds}, at) for one in sets)
    return _Draft(tuple(placed), len(placed), max(p.start + p.parts.drained for p in placed), together)


def _demould(day: HandsDay, parts: CastParts, start: int, closing: int) -> int | None:
    """Book the first hands for demoulding; None if there are none before closing."""
    hands = (Part(0, parts.demould, False),)
    at = day.earliest(hands, start + parts.can_demould)
    if at is None or at + parts.demould > closing:
        return None
    day.book(hands, at)
    return at


def _better(a: _Draft, b: _Draft) -> _Draft:
    return b if (len(b.sets), b.pots, -b.ends) > (len(a.sets), a.pots, -a.ends) else a


def _lay(
    ask: PlanAsk,
    layouts: list[list[CastParts]],
    sets: tuple[SetParts, ...],
    keys: np.ndarray[tuple[int], np.dtype[np.float64]],
) -> _Draft:
    """Lay in the casts; the mould whose free time plus key (in minutes) is least goes next, with its set."""
    closing = to_grid(ask.closing_min)
    day = day_with_running(ask, closing)
    free_at = [to_grid(m.free_at_min) for m in ask.moulds]
    done = [0] * len(ask.moulds)
    waiting = {i for i, casts in enumerate(layouts) if casts}
    placed: list[_Placed] = []
    of_set = {i: one for one in sets for i in one.moulds}
    together: list[PlannedSet] = []
    while waiting:
        i = min(waiting, key=lambda j: (free_at[j] * GRID_MIN + keys[j], j))
        one = of_set.pop(i, None)
        if one is not None:
            for j in one.moulds:
                of_set.pop(j, None)
            first = {j: layouts[j][0] for j in one.moulds}
            starts = lay_set(day, one, first, {j: free_at[j] for j in one.moulds}, closing)
            if starts is not None:
                together.append(planned(one, first, starts))
        else:
            starts = None
        if starts is None:
            start = day.earliest(layouts[i][done[i]].rigid, free_at[i])
            if start is None or start + layouts[i][done[i]].drained > closing:
                waiting.discard(i)  # its later casts would be later still
                continue
            day.book(layouts[i][done[i]].rigid, start)
            starts = {i: start}
        for j, start in starts.items():
            parts = layouts[j][done[j]]
            done[j] += 1
            last = done[j] == len(layouts[j])
            # the last demould of a mould is in nobody's way: it takes the hands that are left at the end
            demould_at = None if last else _demould(day, parts, start, closing)
            placed.append(_Placed(j, done[j] - 1, start, parts, demould_at))
            if last or demould_at is None:
                waiting.discard(j)  # with no hands before closing it stays in its mould till the morning
            else:
                free_at[j] = demould_at + parts.demould
    for n, p in enumerate(placed):
        if p.demould_at is None:
            placed[n] = replace(p, demould_at=_demould(day, p.parts, p.start, closing))
    ends = max((p.start + p.parts.drained for p in placed), default=0)
    return _Draft(tuple(placed), len(placed), ends, tuple(together))


def _steps(ask: PlanAsk, placed: _Placed) -> list[Step]:
    mould, start = ask.moulds[placed.mould], placed.start
    number = placed.cast + 1

    def step(at: int, minutes: float, kind: StepKind) -> Step:
        return Step(at * GRID_MIN, minutes, mould.name, number, kind)

    steps = [step(start, mould.pour_min, StepKind.POUR)]
    steps += [step(start + p.begin, mould.top_up_min, StepKind.TOP_UP) for p in placed.parts.rigid[1:-2]]
    steps.append(step(start + placed.parts.ready, mould.tip_min, StepKind.TIP))
    if placed.demould_at is not None:
        steps.append(step(placed.demould_at, mould.demould_min, StepKind.DEMOULD))
    return steps
