"""The one place that asks the computer for the time, and a told clock for tests and simulations."""

from __future__ import annotations

import time
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from threading import Lock
from typing import Protocol


@dataclass(frozen=True, slots=True)
class Moment:
    """One moment on both clocks, and the start of the computer that the steady one counts from.

    Attributes
    ----------
    at_s : float
        Steady seconds: they never step and go on while the computer sleeps. [s]
    at : datetime
        The same moment for people, aware, UTC.
    boot_id : str
        Changes with every start of the computer.
    ahead_s : float
        How far `at_s` is ahead of the computer's own steady seconds of that boot. [s]
    """

    at_s: float
    at: datetime
    boot_id: str
    ahead_s: float = 0.0


class Clock(Protocol):
    """What the parts that may know the time are given."""

    def now_s(self) -> float:
        """Return steady seconds: never stepping back, never reset by setting the wall clock. In s."""
        ...

    def now_at(self) -> datetime:
        """Return the moment for people, aware, UTC. May step when the wall clock is set."""
        ...

    def moment(self) -> Moment:
        """Return both clocks and the start of the computer that the steady one counts from."""
        ...


class ComputerClock:
    """The computer's own clocks.

    Parameters
    ----------
    ahead_s : float
        Added to the computer's steady seconds, so that a bench's seconds go on after a reboot. [s]
    """

    def __init__(self, ahead_s: float = 0.0) -> None:
        self._ahead_s = ahead_s
        self._boot_id = _boot_id()

    def now_s(self) -> float:
        """Return steady seconds, counting through sleep (slip goes on sinking under a closed lid). In s."""
        return _steady_s() + self._ahead_s

    def now_at(self) -> datetime:
        """Return the moment for people, aware, UTC."""
        return datetime.now(UTC)

    def moment(self) -> Moment:
        """Return both clocks, the kernel's name of this boot, and the shift."""
        return Moment(self.now_s(), self.now_at(), self._boot_id, self._ahead_s)


class ToldClock:
    """A clock that shows what it is told; for tests, replays and simulated days."""

    def __init__(self, at_s: float, at: datetime, boot_id: str = "told") -> None:
        self._moment = Moment(at_s, at, boot_id)
        self._lock = Lock()

    def tell(self, at_s: float, at: datetime) -> None:
        """Set both clocks."""
        with self._lock:
            self._moment = Moment(at_s, at, self._moment.boot_id)

    def now_s(self) -> float:
        """Return the told steady seconds. In s."""
        return self._moment.at_s

    def now_at(self) -> datetime:
        """Return the told moment."""
        return self._moment.at

    def moment(self) -> Moment:
        """Return what was told last."""
        return self._moment


@dataclass(frozen=True, slots=True)
class Resumed:
    """A clock that goes on from the last moment stored, and how far it can be trusted.

    Attributes
    ----------
    clock : ComputerClock
        Its steady seconds continue the bench's.
    same_boot : bool
        The steady clock ran on: every stored second is still good.
    doubt_s : float
        What the gap between the stored and the new seconds may be wrong by: nothing within one boot; after
        a reboot the wall clock is all there is, and one that went backwards cannot be right. [s]
    """

    clock: ComputerClock
    same_boot: bool
    doubt_s: float


WALL_CLOCK_DOUBT_S = 60.0
"""A wall clock that the network has set is good to a second; one kept by hand or by a cheap battery clock, to
about a minute over a night. Common practice, no source."""


def resume(last: Moment | None) -> Resumed:
    """Return the bench's clock for this start of the service.

    Parameters
    ----------
    last : Moment or None
        The newest moment that was stored, or None on the very first start.
    """
    if last is None:
        return Resumed(ComputerClock(), same_boot=True, doubt_s=0.0)
    here = ComputerClock(last.ahead_s)
    if last.boot_id == here.moment().boot_id:
        return Resumed(here, same_boot=True, doubt_s=0.0)
    gap_s = (here.now_at() - last.at).total_seconds()
    went_back = gap_s < 0
    ahead_s = last.at_s + (0.0 if went_back else gap_s) - ComputerClock().now_s()
    doubt_s = WALL_CLOCK_DOUBT_S + (abs(gap_s) if went_back else 0.0)
    return Resumed(ComputerClock(ahead_s), same_boot=False, doubt_s=doubt_s)


def _boot_id() -> str:
    try:
        return Path("/proc/sys/kernel/random/boot_id").read_text(encoding="ascii").strip()
    except OSError:
        return f"started-{int(time.time() - _steady_s())}"


def _steady_s() -> float:
    """Return the computer's steady seconds; where it has no clock that counts through sleep, without it."""
    boot_time = getattr(time, "CLOCK_BOOTTIME", None)  # Linux alone has it
    return time.monotonic() if boot_time is None else time.clock_gettime(boot_time)
