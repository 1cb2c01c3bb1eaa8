"""How often a day goes as planned: a plan, or a habit instead of one, played with drawn casting times."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from models.doors import number
from models.plan_jobs import Plan, PlanAsk, PlanMould, StepKind, check_ask

SHARED_SHARE = 0.5
"""Share of a time's variance that all moulds have in common (slip, room), the rest is each cast's (guess)."""


_EARLY_SLACK = 0.5  # standard deviations that a pour brought forward keeps from every tip that stands there


@dataclass(frozen=True, slots=True)
class DayChance:
    """What days played through came to.

    Attributes
    ----------
    holds : float
        Share of the days on which no tip was later than its wall allows and all planned pots were made.
    pots : float
        Mean of wanted pots tipped in time and drained by closing.
    overdue_min : float
        Mean of minutes that tips waited for hands, added up over a day. [min]
    spoiled : float
        Mean of pots a day whose tip came later than the wall allows.
    """

    holds: float
    pots: float
    overdue_min: float
    spoiled: float


@dataclass(frozen=True, slots=True)
class Habit:
    """Pouring without a plan: any free mould, at least `gap_min` after the last pour; 0 is all at once."""

    gap_min: float


def play(ask: PlanAsk, how: Plan | Habit, *, days: int = 60, seed: int = 0) -> DayChance:
    """Play a plan or a habit through many days.

    Parameters
    ----------
    ask : PlanAsk
        Running casts are taken as tipped already.
    how : Plan or Habit
    days : int
        1 to 2000.
    seed : int
        The same days come for the same seed, whatever is played.

    Notes
    -----
    Casting times are drawn normal in the logarithm. The caster is told when a cast is ready, tips first, tops
    up next, then pours, then demoulds, and begins no pour or demould that a tip due meanwhile would have to
    wait for. That courtesy is given to habits as well. A planned pour is brought forward when hands are idle,
    its mould is free and its tip meets none that stands there, as planning anew would do.
    """
    check_ask(ask)
    number("days", days, wanted="1 to 2000", least=1, most=2000)
    if isinstance(how, Habit):
        number("gap between pours", how.gap_min, wanted="minutes, 0 to 600", least=0, most=600)
    rng = np.random.default_rng(seed)
    played = [_Day(ask, how, _factors(ask, rng)).play() for _ in range(days)]
    goal = how.pots if isinstance(how, Plan) else sum(min(m.wanted, len(m.cast_min)) for m in ask.moulds)
    good = [made >= goal and late == 0 for made, _, late in played]
    return DayChance(
        holds=sum(good) / days,
        pots=sum(made for made, _, _ in played) / days,
        overdue_min=sum(overdue for _, overdue, _ in played) / days,
        spoiled=sum(late for _, _, late in played) / days,
    )


def _factors(ask: PlanAsk, rng: np.random.Generator) -> dict[str, list[float]]:
    shared = rng.normal()
    return {
        m.name: [
            math.exp(
                m.sigma_log * (math.sqrt(SHARED_SHARE) * shared + math.sqrt(1 - SHARED_SHARE) * rng.normal())
            )
            for _ in m.cast_min
        ]
        for m in ask.moulds
    }


@dataclass(slots=True)
class _Task:
    due: float
    rank: int
    minutes: float
    mould: str
    kind: StepKind


class _Day:
    """One day, played minute by event; working memory of `play`."""

    def __init__(self, ask: PlanAsk, how: Plan | Habit, factors: Mapping[str, list[float]]) -> None:
        self.ask = ask
        self.how = how
        self.factors = factors
        self.moulds = {m.name: m for m in ask.moulds}
        self.done = dict.fromkeys(self.moulds, 0)
        self.casting_min: dict[str, float] = {}
        self.tasks: list[_Task] = []
        self.last_pour = -math.inf
        self.free_at = dict.fromkeys(self.moulds, 0.0)
        self.made, self.overdue, self.late = 0, 0.0, 0
        self.planned: dict[tuple[str, int], float] = {}
        if isinstance(how, Plan):
            pours = [s for s in how.steps if s.kind is StepKind.POUR]
            self.planned = {(s.mould, s.cast - 1): s.at_min for s in pours}
        for mould in ask.moulds:
            self._offer_pour(mould, mould.free_at_min)

    def play(self) -> tuple[int, float, int]:
        """Pots made, minutes overdue, pots spoiled."""
        hands = [0.0] * self.ask.hands
        now = 0.0
        while self.tasks and now < self.ask.closing_min + 600.0:
            free = min(range(len(hands)), key=lambda i: hands[i])
            now = max(now, hands[free])
            task = self._choose(now, spare_hands=sum(h <= now for h in hands) > 1)
            if task is None:
                moments = [t.due for t in self.tasks] + hands + [self.last_pour + self._gap()]
                # a pour held back by a tip that is due soon waits with it
                now = min((m for m in moments if m > now), default=now + 1.0)
                hands = [max(h, now) for h in hands]
                continue
            self.tasks.remove(task)
            hands[free] = now + task.minutes
            self._did(task, now)
        return self.made, self.overdue, self.late

    def _choose(self, now: float, *, spare_hands: bool) -> _Task | None:
        tips = [t.due for t in self.tasks if t.kind is StepKind.TIP]
        ready = []
        for task in self.tasks:
            if task.due > now:
                continue
            if task.kind is StepKind.POUR and now - self.last_pour < self._gap():
                continue
            waits = task.rank >= 2 and not spare_hands and any(now <= t < now + task.minutes for t in tips)
            if not waits:
                ready.append(task)
        if ready:
            return min(ready, key=lambda t: (t.rank, t.due))
        return self._early(now, tips) if isinstance(self.how, Plan) else None

    def _early(self, now: float, tips: list[float]) -> _Task | None:
        """Bring a planned pour forward when hands are idle and its tip would meet no other: planned anew."""
        slack = max(self.how.slack, _EARLY_SLACK) if isinstance(self.how, Plan) else 0.0
        for task in sorted((t for t in self.tasks if t.kind is StepKind.POUR), key=lambda t: t.due):
            mould = self.moulds[task.mould]
            casting = mould.cast_min[self.done[mould.name]]
            ready = now + mould.pour_min + casting
            apart = mould.tip_min + slack * mould.sigma_log * casting
            meets = any(abs(ready - t) < apart for t in tips)
            held = any(now <= t < now + mould.pour_min for t in tips)
            if not meets and not held and self.free_at[mould.name] <= now:
                return task
        return None

    def _gap(self) -> float:
        return self.how.gap_min if isinstance(self.how, Habit) else 0.0

    def _did(self, task: _Task, now: float) -> None:
        mould, end = self.moulds[task.mould], now + task.minutes
        n = self.done[task.mould]
        if task.kind is StepKind.POUR:
            self.last_pour = now
            casting = mould.cast_min[n] * self.factors[mould.name][n]
            self.casting_min[mould.name] = casting
            for share in mould.top_up_at:
                self.tasks.append(
                    _Task(end + share * casting, 1, mould.top_up_min, mould.name, StepKind.TOP_UP)
                )
            self.tasks.append(_Task(end + casting, 0, mould.tip_min, mould.name, StepKind.TIP))
        elif task.kind is StepKind.TIP:
            self.overdue += now - task.due
            in_time = now - task.due <= mould.late_share * self.casting_min[mould.name]
            self.late += not in_time
            self.made += in_time and end + mould.drain_min <= self.ask.closing_min
            self.done[mould.name] = n + 1
            self.tasks = [t for t in self.tasks if t.mould != mould.name or t.kind is not StepKind.TOP_UP]
            due = end + mould.set_min
            self.tasks.append(_Task(due, 3, mould.demould_min, mould.name, StepKind.DEMOULD))
        elif task.kind is StepKind.DEMOULD:
            self._offer_pour(mould, end)

    def _offer_pour(self, mould: PlanMould, free: float) -> None:
        n = self.done[mould.name]
        self.free_at[mould.name] = free
        if n >= min(mould.wanted, len(mould.cast_min)):
            return
        at = free
        if isinstance(self.how, Plan):
            if (mould.name, n) not in self.planned:
                return
            at = max(free, self.planned[mould.name, n])
        lasts = mould.pour_min + mould.cast_min[n] + mould.tip_min + mould.drain_min
        if at + lasts <= self.ask.closing_min:
            self.tasks.append(_Task(at, 2, mould.pour_min, mould.name, StepKind.POUR))
