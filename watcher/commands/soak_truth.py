"""What was told during a soak, held against what was true: calls missed, false, early, late; casts lost."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np

from watcher.simulator.true_cast import TrueCast

EARLY_SHARE, EARLY_S = 0.15, 60.0
"""A call is off the mark when it is off by more than this share of the cast's time and more than this. [s]"""

FALSE_WALL = 0.8
"""A call is false when no slip stands in the mould, or the wall is less than this share of what is wanted."""

BEFORE_S, AFTER_S = 120.0, 90.0
"""A cast may be noticed so long before its pour, and a call be raised so long after a tip that nobody has
seen yet. [s]"""


@dataclass(frozen=True, slots=True)
class Told:
    """One alert or one cast as the journal has it: bench seconds."""

    mould: str
    kind: str
    at_s: float


@dataclass(slots=True)
class Tally:
    """The figures of a soak, added up day by day.

    Attributes
    ----------
    casts : int
        True casts.
    due : int
        Of them, those that truly became ready before their tip.
    missed, false, repeated : int
        `ready` never raised for a cast that was due; raised where no slip stood or the wall was far too
        thin; raised again.
    off : list of float
        Calls against the true moment, as share of the cast's time (negative: early).
    off_seen : list of float
        Of them, those of casts whose pour could be seen.
    off_the_mark, off_the_mark_seen : int
        Those off by more than 15 % and a minute; of them, those of casts whose pour could be seen.
    late_true, late_told : int
        Casts that truly passed the thick end, and `late` raised.
    unnoticed, invented : int
        True casts without one in the journal; casts in the journal without a true one.
    tips_off_s : list of float
        Tips as noticed against the true ones. [s]
    remarks : list of str
        One line for each thing that went wrong.
    """

    casts: int = 0
    due: int = 0
    missed: int = 0
    false: int = 0
    repeated: int = 0
    off: list[float] = field(default_factory=list)
    off_seen: list[float] = field(default_factory=list)
    off_the_mark: int = 0
    off_the_mark_seen: int = 0
    late_true: int = 0
    late_told: int = 0
    unnoticed: int = 0
    invented: int = 0
    tips_off_s: list[float] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)

    def add(
        self,
        true: Sequence[TrueCast],
        alerts: Sequence[Told],
        casts: Iterable[tuple[str, float, float | None]],
        *,
        day: int,
        start_s: float,
    ) -> None:
        """Add a day.

        Parameters
        ----------
        true : sequence of TrueCast
            In seconds of the day.
        alerts : sequence of Told
            Of the day.
        casts : iterable of (mould, began, tipped)
            As the journal has them. [s]
        day : int
            For the remarks.
        start_s : float
            Bench second at which the day began. [s]
        """
        used: set[int] = set()
        for cast in true:
            calls = [one for one in alerts if _belongs(one, cast, start_s)]
            used |= {id(one) for one in calls}
            self._judge(cast, [c for c in calls if c.kind == "ready"], day, start_s)
            self.late_true += cast.late_s is not None
            self.late_told += any(one.kind == "late" for one in calls)
        for one in alerts:
            if id(one) not in used and one.kind == "ready":
                self.false += 1
                self._remark(day, one.mould, one.at_s - start_s, "called though no slip stood in it")
        self._match(true, list(casts), day, start_s)

    def _judge(self, cast: TrueCast, ready: list[Told], day: int, start_s: float) -> None:
        self.casts += 1
        whole_s = (cast.ready_s if cast.ready_s is not None else cast.tip_s) - cast.cast.filled_s
        thin = [one for one in ready if self._far_too_thin(cast, one.at_s - start_s)]
        for one in thin:
            self.false += 1
            wall_mm = cast.wall_mm(one.at_s - start_s)
            self._remark(day, cast.mould, one.at_s - start_s, f"was called at a wall of {wall_mm:.2f} mm")
        if cast.ready_s is None:
            return
        self.due += 1
        if not ready:
            self.missed += 1
            self._remark(day, cast.mould, cast.ready_s, "was never called")
            return
        self.repeated += len(ready) - 1
        off_s = ready[0].at_s - start_s - cast.ready_s
        self.off.append(off_s / whole_s)
        if cast.pour_seen:
            self.off_seen.append(off_s / whole_s)
        if abs(off_s) > EARLY_S and abs(off_s) > EARLY_SHARE * whole_s:
            self.off_the_mark += 1
            self.off_the_mark_seen += cast.pour_seen
            unseen = "" if cast.pour_seen else ", its pour unseen"
            what = f"was called {off_s / whole_s:+.0%} of its time off{unseen}"
            self._remark(day, cast.mould, cast.ready_s, what)

    @staticmethod
    def _far_too_thin(cast: TrueCast, at_s: float) -> bool:
        return at_s < cast.tip_s and cast.wall_mm(at_s) < FALSE_WALL * cast.wanted_mm

    def _match(
        self, true: Sequence[TrueCast], casts: list[tuple[str, float, float | None]], day: int, start_s: float
    ) -> None:
        left = list(casts)
        for cast in true:
            noted = next((c for c in left if _is_of(c, cast, start_s)), None)
            if noted is None:
                self.unnoticed += 1
                self._remark(day, cast.mould, cast.cast.filled_s, "was poured and not noticed")
                continue
            left.remove(noted)
            if noted[2] is not None:
                self.tips_off_s.append(noted[2] - start_s - cast.tip_s)
        for mould, began_s, _ in left:
            self.invented += 1
            self._remark(day, mould, began_s - start_s, "was taken for poured")

    def _remark(self, day: int, mould: str, at_s: float, what: str) -> None:
        self.remarks.append(f"day {day}, {at_s / 60.0:.1f} min: {mould} {what}")

    def figures(self) -> dict[str, float | int | None]:
        """Return the figures by name."""
        off = np.abs(self.off)
        return {
            "casts": self.casts,
            "due": self.due,
            "missed_ready": self.missed,
            "false_ready": self.false,
            "ready_again": self.repeated,
            "ready_off_median": float(np.median(off)) if len(off) else None,
            "ready_off_worst": float(off.max()) if len(off) else None,
            "off_the_mark": self.off_the_mark,
            "pours_seen": len(self.off_seen),
            "ready_off_median_pour_seen": float(np.median(np.abs(self.off_seen))) if self.off_seen else None,
            "ready_off_worst_pour_seen": float(np.abs(self.off_seen).max()) if self.off_seen else None,
            "off_the_mark_pour_seen": self.off_the_mark_seen,
            "late_true": self.late_true,
            "late_told": self.late_told,
            "casts_unnoticed": self.unnoticed,
            "casts_invented": self.invented,
            "tip_noticed_median_s": float(np.median(self.tips_off_s)) if self.tips_off_s else None,
        }


def _belongs(one: Told, cast: TrueCast, start_s: float) -> bool:
    at_s = one.at_s - start_s
    return one.mould == cast.mould and cast.cast.fill_from_s - BEFORE_S <= at_s <= cast.tip_s + AFTER_S


def _is_of(noted: tuple[str, float, float | None], cast: TrueCast, start_s: float) -> bool:
    began_s = noted[1] - start_s
    return noted[0] == cast.mould and cast.cast.fill_from_s - BEFORE_S <= began_s <= cast.tip_s
