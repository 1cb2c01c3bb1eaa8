"""What a pour plan is asked and what it answers: moulds, hands, closing time; steps with their minutes.

All moments are minutes from now.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from models.doors import BadValue, number

MOST_CASTS = 1000
"""Casts in one plan at most."""


class StepKind(StrEnum):
    """What hands do."""

    POUR = "pour"
    TOP_UP = "top_up"
    TIP = "tip"
    DEMOULD = "demould"


@dataclass(frozen=True, slots=True)
class PlanMould:
    """One mould as the plan sees it.

    Attributes
    ----------
    name : str
    cast_min : tuple of float
        Time from full to ready of its next casts, one for each that dampness still allows today. [min]
    sigma_log : float
        Spread of the logarithm of these times.
    wanted : int
        Pots wanted of it today, 0 for none.
    free_at_min : float
        When it can first be poured. [min]
    pour_min, tip_min, demould_min : float
        Hands' time for each; demoulding includes cleaning and strapping. [min]
    top_up_at : tuple of float
        Shares of the casting time at which it is topped up.
    top_up_min : float
        Hands' time of one. [min]
    drain_min, set_min : float
        From tip to drained, and from tip to when it can be demoulded. [min]
    late_share : float
        Share of the casting time by which a tip may be late before the wall is too thick.
    """

    name: str
    cast_min: tuple[float, ...]
    sigma_log: float = 0.12
    wanted: int = 1
    free_at_min: float = 0.0
    pour_min: float = 2.0
    tip_min: float = 2.0
    demould_min: float = 5.0
    top_up_at: tuple[float, ...] = ()
    top_up_min: float = 1.0
    drain_min: float = 20.0
    set_min: float = 45.0
    late_share: float = 0.20


@dataclass(frozen=True, slots=True)
class RunningCast:
    """A cast that stands on the bench already: its tip is due, its hands are spoken for.

    Attributes
    ----------
    mould : str
    ready_in_min : float
        Until it is ready; negative if it is overdue. [min]
    sigma_min : float
        Spread of that. [min]
    tip_min : float
        Hands' time. [min]
    """

    mould: str
    ready_in_min: float
    sigma_min: float
    tip_min: float = 2.0


JOIN_WINDOW_MIN = 30.0
"""Parts of a set come to leather-hard within so long of each other: what waits is kept under a damp cloth
(common practice, no source). [min]"""


@dataclass(frozen=True, slots=True)
class PlanSet:
    """A piece of several parts: the next cast of each of its moulds is to come leather-hard together.

    Attributes
    ----------
    name : str
    moulds : tuple of str
        Parts that are still to be poured, each a mould of the plan.
    hard_min : tuple of float
        When the parts that were poured already are leather-hard; negative is past. [min]
    window_min : float
        How far apart they may come, 0 to 600. [min]
    """

    name: str
    moulds: tuple[str, ...]
    hard_min: tuple[float, ...] = ()
    window_min: float = JOIN_WINDOW_MIN


@dataclass(frozen=True, slots=True)
class PlannedSet:
    """A set as it was planned: when its last part is leather-hard, and how much sooner its first. [min]."""

    name: str
    join_min: float
    apart_min: float


@dataclass(frozen=True, slots=True)
class PlanAsk:
    """All that a plan is asked.

    Attributes
    ----------
    moulds : tuple of PlanMould
    hands : int
        Pairs of hands, 1 or 2.
    closing_min : float
        When the last cast must have drained. [min]
    running : tuple of RunningCast
    slack : float
        Standard deviations of a tip's time that are kept free of other tips about it where the day has room,
        0 to 2; a full day gets less rather than fewer pots.
    sets : tuple of PlanSet
        No mould is in two of them.
    """

    moulds: tuple[PlanMould, ...]
    hands: int
    closing_min: float
    running: tuple[RunningCast, ...] = ()
    slack: float = 1.5
    sets: tuple[PlanSet, ...] = ()


@dataclass(frozen=True, slots=True)
class Step:
    """One thing that hands do, in minutes. A tip's `at_min` is when the wall is expected to be ready."""

    at_min: float
    minutes: float
    mould: str
    cast: int
    kind: StepKind


@dataclass(frozen=True, slots=True)
class Plan:
    """A plan for the day.

    Attributes
    ----------
    steps : tuple of Step
        In the order of their times.
    pots : int
        Wanted pots that it makes.
    missing : tuple of (str, int)
        Moulds that give fewer than wanted, and how many are missing.
    ends_min : float
        When the last cast has drained. [min]
    slack : float
        Standard deviations that it keeps free about each tip.
    sets : tuple of PlannedSet
        Sets whose parts come together, or as near to it as the day allows; one that does not fit is left out.
    """

    steps: tuple[Step, ...]
    pots: int
    missing: tuple[tuple[str, int], ...]
    ends_min: float
    slack: float
    sets: tuple[PlannedSet, ...] = ()


def check_ask(ask: PlanAsk) -> None:
    """Refuse what cannot be planned, in one sentence."""
    if ask.hands not in (1, 2):
        raise BadValue(f"hands is {ask.hands!r}; give 1 or 2 pairs of hands")
    number("closing time", ask.closing_min, wanted="minutes from now, above 0 to 1440", above=0, most=1440)
    number("slack", ask.slack, wanted="standard deviations, 0 to 2", least=0, most=2)
    seen: set[str] = set()
    for mould in ask.moulds:
        if not mould.name or mould.name in seen:
            raise BadValue(f"mould name is {mould.name!r} twice or empty; give each mould its own name")
        seen.add(mould.name)
        _check_mould(mould)
    if sum(min(m.wanted, len(m.cast_min)) for m in ask.moulds) > MOST_CASTS:
        raise BadValue(f"wanted pots are more than {MOST_CASTS}; give the plan of one day")
    for cast in ask.running:
        name = cast.mould
        number(
            f"{name}: ready in", cast.ready_in_min, wanted="minutes, -1440 to 1440", least=-1440, most=1440
        )
        number(f"{name}: spread of ready", cast.sigma_min, wanted="minutes, 0 to 600", least=0, most=600)
        number(f"{name}: tip time", cast.tip_min, wanted="minutes, 0.1 to 60", least=0.1, most=60)


def _check_mould(m: PlanMould) -> None:
    for n, minutes in enumerate(m.cast_min, 1):
        number(f"{m.name}: time of cast {n}", minutes, wanted="minutes, 0.5 to 1440", least=0.5, most=1440)
    if not isinstance(m.wanted, int) or m.wanted < 0:
        raise BadValue(f"{m.name}: wanted is {m.wanted!r}; give a whole number of pots, 0 or more")
    for field, value in (
        ("pour", m.pour_min),
        ("tip", m.tip_min),
        ("demould", m.demould_min),
        ("top-up", m.top_up_min),
    ):
        number(f"{m.name}: {field} time", value, wanted="minutes of hands, 0.1 to 120", least=0.1, most=120)
    for field, value in (("drain", m.drain_min), ("setting", m.set_min), ("free at", m.free_at_min)):
        number(f"{m.name}: {field} time", value, wanted="minutes, 0 to 2880", least=0, most=2880)
    for share in m.top_up_at:
        number(
            f"{m.name}: top-up at",
            share,
            wanted="a share of the casting time, above 0 to 0.95",
            above=0,
            most=0.95,
        )
    number(f"{m.name}: spread", m.sigma_log, wanted="of the time's logarithm, 0 to 1.5", least=0, most=1.5)
    number(f"{m.name}: lateness", m.late_share, wanted="a share of the casting time, 0 to 2", least=0, most=2)
