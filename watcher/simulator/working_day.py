"""A working day of a caster, drawn by chance: who is poured when, what becomes of it, what goes wrong."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from watcher.records.frames import Blind
from watcher.simulator.bench import SimBench, SimMould
from watcher.simulator.faults import Bump, Faults, Hand, LightChange, Nudge, Outage
from watcher.simulator.true_cast import TrueCast, cast_through
from watcher.simulator.truth import SimCast

K_DRY, K_SPREAD_LOG = 1.0, 0.25
"""Moulds of one bench drink at about this rate, mm2/min, and differ by so much."""
DAMP = 0.25
"""Each further cast of a day drinks so much slower than a dry mould, in 1/K."""
HANDS_S = 150.0
"""One pair of hands takes so long from one pour to the next. [s]"""
FIRST_S = 300.0
"""When the first mould of a day is poured. [s]"""
EVENING_S = 9.5 * 3600.0
"""After this many seconds of the day nothing more is poured. [s]"""


@dataclass(frozen=True, slots=True)
class Odds:
    """How often things happen; shares of casts, or counts of a day.

    Attributes
    ----------
    top_up, unseen_pour, too_soon, ladled, far_drain, said : float
        Shares of casts: topped up; poured while something hides the hole; tipped too soon; emptied standing;
        drained elsewhere until it is opened; whose steps the caster says.
    hands, lamps, nudges, stalls, bumps, long_stalls : float
        Counts of a day, mean.
    """

    top_up: float = 0.25
    unseen_pour: float = 0.10
    too_soon: float = 0.06
    ladled: float = 0.06
    far_drain: float = 0.25
    said: float = 0.15
    hands: float = 8.0
    lamps: float = 2.0
    nudges: float = 1.5
    stalls: float = 1.0
    bumps: float = 0.15
    long_stalls: float = 0.2


@dataclass(frozen=True, slots=True)
class Word:
    """Something the caster says of a mould: the name of a thing to say, and when. [s]."""

    at_s: float
    mould: str
    what: str


@dataclass(frozen=True, slots=True)
class WorkingDay:
    """One day, in seconds from its start.

    Attributes
    ----------
    bench : SimBench
        With the day's casts in its moulds.
    casts : tuple of TrueCast
    faults : Faults
    words : tuple of Word
    end_s : float
        When the last mould stands clean and empty. [s]
    """

    bench: SimBench
    casts: tuple[TrueCast, ...]
    faults: Faults
    words: tuple[Word, ...]
    end_s: float


def working_day(
    bench: SimBench, seed: tuple[int, int], *, odds: Odds | None = None, rounds: int = 3
) -> WorkingDay:
    """Draw a day.

    Parameters
    ----------
    bench : SimBench
        Nothing poured.
    seed : tuple of int
        Workshop and day: moulds keep their thirst from day to day.
    odds : Odds, optional
    rounds : int
        No mould is poured more often than that.
    """
    chance = odds or Odds()
    rng = np.random.default_rng(seed)
    thirst = np.random.default_rng(seed[0]).lognormal(np.log(K_DRY), K_SPREAD_LOG, len(bench.moulds))
    weather = float(rng.lognormal(0.0, 0.06))
    draft = _Draft(bench, rng, chance)
    free_s = [FIRST_S + HANDS_S * k for k in rng.permutation(len(bench.moulds))]
    for round_ in range(rounds):
        for k in np.argsort(free_s):
            if round_ and rng.random() > (0.75, 0.4)[round_ - 1]:
                free_s[k] = np.inf
            if free_s[k] < EVENING_S:
                drinks = float(thirst[k] * weather * rng.lognormal(0.0, 0.08) / (1.0 + DAMP * round_))
                free_s[k] = draft.cast(bench.moulds[k], free_s[k], drinks)
    return draft.day()


class _Draft:
    """A day while it is drawn."""

    def __init__(self, bench: SimBench, rng: np.random.Generator, odds: Odds) -> None:
        self._bench, self._rng, self._odds = bench, rng, odds
        self._casts: list[TrueCast] = []
        self._sim: dict[str, list[SimCast]] = {mould.name: [] for mould in bench.moulds}
        self._nudges: list[Nudge] = []
        self._hands: list[Hand] = []
        self._outages: list[Outage] = []
        self._words: list[Word] = []
        self._pours_s: list[float] = []
        self._end_s = 0.0

    def cast(self, mould: SimMould, from_s: float, k_mm2_per_min: float) -> float:
        """Pour, wait, tip, drain and open one mould; return when it can be poured again. [s]."""
        rng, odds = self._rng, self._odds
        start_s = self._hands_free(round(from_s))
        filled_s = start_s + round(float(rng.uniform(20.0, 50.0)))
        plain = SimCast(
            start_s,
            filled_s,
            k_mm2_per_min,
            resistance_mm=float(rng.uniform(0.1, 0.3)),
            fading_s=float(rng.uniform(5400.0, 20000.0)),
            mark_mm=float(rng.uniform(1.5, 4.5)),
        )
        too_soon = rng.random() < odds.too_soon
        true = cast_through(
            mould.profile,
            plain,
            self._bench.slip_per_cake,
            longer=float(rng.uniform(0.55, 0.75) if too_soon else rng.uniform(1.35, 1.6)),
            after_s=0.0 if too_soon else float(rng.uniform(120.0, 300.0)),
            refill=float(rng.uniform(0.35, 0.7)) if rng.random() < odds.top_up else None,
        )
        self._over(mould, start_s, filled_s, rng.random() < odds.unseen_pour)
        for begin_s, end_s in true.cast.top_ups:
            self._hand(mould, begin_s - 5.0, end_s + 5.0)
        clean_s = self._after(mould, true)
        self._sim[mould.name].append(replace(true.cast, clean_s=clean_s))
        self._casts.append(replace(true, cast=replace(true.cast, clean_s=clean_s)))
        self._end_s = max(self._end_s, clean_s + 300.0)
        return clean_s + 180.0 + float(rng.uniform(60.0, 1200.0))

    def day(self) -> WorkingDay:
        """Add what goes wrong and close the day."""
        rng, odds = self._rng, self._odds
        for _ in range(rng.poisson(odds.hands)):
            mould = self._bench.moulds[int(rng.integers(len(self._bench.moulds)))]
            at_s = self._moment()
            self._hand(mould, at_s, at_s + float(rng.uniform(8.0, 45.0)))
        for mean, least_s, most_s in ((odds.stalls, 30.0, 180.0), (odds.long_stalls, 300.0, 700.0)):
            for _ in range(rng.poisson(mean)):
                at_s = self._moment()
                why = Blind(rng.choice([Blind.STALLED, Blind.UNPLUGGED, Blind.BLACK]))
                self._outages.append(Outage(at_s, at_s + float(rng.uniform(least_s, most_s)), why))
        for cast in self._chosen(rng.poisson(odds.nudges)):
            at_s = float(rng.uniform(cast.cast.filled_s + 60.0, cast.tip_s - 30.0))
            by = (float(rng.uniform(-6, 6)), float(rng.uniform(-6, 6)))
            self._nudges.append(Nudge(at_s, cast.mould, by, float(rng.uniform(-8, 8))))
        moulds = tuple(replace(m, casts=tuple(self._sim[m.name])) for m in self._bench.moulds)
        lights = tuple(self._lamp() for _ in range(rng.poisson(odds.lamps)))
        bumps = tuple(self._bump() for _ in range(rng.poisson(odds.bumps)))
        faults = Faults(tuple(self._hands), lights, tuple(self._nudges), bumps, (), tuple(self._outages))
        words = tuple(sorted(self._words, key=lambda word: word.at_s))
        seen = (replace(c, pour_seen=faults.outage(c.cast.filled_s + 15.0) is None) for c in self._casts)
        casts = tuple(sorted(seen, key=lambda cast: cast.cast.fill_from_s))
        return WorkingDay(replace(self._bench, moulds=moulds), casts, faults, words, self._end_s)

    def _after(self, mould: SimMould, true: TrueCast) -> float:
        """Drain and open; return when the mould is clean and empty. [s]."""
        rng, odds = self._rng, self._odds
        tip_s, name = true.tip_s, mould.name
        said = rng.random() < odds.said
        ladled, far = rng.random() < odds.ladled, rng.random() < odds.far_drain
        upright_s = tip_s + float(rng.uniform(480.0, 1200.0))
        open_s = upright_s + float(rng.uniform(600.0, 1800.0))
        back_s = open_s + float(rng.uniform(120.0, 400.0))
        if not ladled:
            self._nudges.append(Nudge(tip_s, name, there=False))
            if not far:
                self._nudges.append(Nudge(upright_s, name, self._askew(), there=True))
        self._hand(mould, tip_s - 12.0, tip_s + 20.0)
        self._nudges.append(Nudge(open_s, name, there=False))
        self._nudges.append(Nudge(back_s, name, self._askew(), float(rng.uniform(-4, 4)), there=True))
        if said:
            moments = ((tip_s + 5.0, "tipped"), (upright_s, "upright"), (back_s - 20.0, "demoulded"))
            self._words += [Word(at_s, name, what) for at_s, what in moments]
        return back_s - 5.0

    def _over(self, mould: SimMould, start_s: float, filled_s: float, hidden: bool) -> None:
        """Hold a hand with the jug over a pour; now and then something hides it for longer."""
        self._hand(mould, start_s - 6.0, filled_s + 4.0)
        if hidden:
            longer_s = float(self._rng.uniform(40.0, 150.0))
            self._outages.append(Outage(start_s - 20.0, filled_s + longer_s, Blind.STALLED))

    def _hand(self, mould: SimMould, from_s: float, to_s: float) -> None:
        seat = mould.seat
        self._hands.append(Hand(from_s, to_s, (seat.x_mm, seat.y_mm, mould.height_mm + 60.0)))

    def _askew(self) -> tuple[float, float]:
        return float(self._rng.uniform(-2, 2)), float(self._rng.uniform(-2, 2))

    def _hands_free(self, from_s: float) -> float:
        """One pair of hands: no pour within `HANDS_S` of another."""
        while any(abs(from_s - other) < HANDS_S for other in self._pours_s):
            from_s += 10.0
        self._pours_s.append(from_s)
        return from_s

    def _moment(self) -> float:
        return float(self._rng.uniform(0.0, max(self._end_s, 60.0)))

    def _chosen(self, count: int) -> list[TrueCast]:
        picked = self._rng.integers(0, len(self._casts), count)
        return [self._casts[int(k)] for k in picked]

    def _lamp(self) -> LightChange:
        at_s = self._moment()
        low, high = (0.7, 0.9) if self._rng.random() < 0.7 else (1.03, 1.1)
        b, g, r = (float(self._rng.uniform(low, high)) for _ in range(3))
        return LightChange(at_s, at_s + float(self._rng.uniform(300.0, 5000.0)), (b, g, r))

    def _bump(self) -> Bump:
        shift = tuple(float(v) for v in self._rng.uniform(-6, 6, 3))
        turn = tuple(float(v) for v in self._rng.uniform(-0.5, 0.5, 3))
        return Bump(self._moment(), (shift[0], shift[1], shift[2]), (turn[0], turn[1], turn[2]))
