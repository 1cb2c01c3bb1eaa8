"""What may stand in for the computer's own clock, camera and phones, so that a bench can run on told time."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from watcher.alerts.senders import Senders
from watcher.clock import Clock
from watcher.records.frames import Frame, NoFrame
from watcher.records.readings import Sighting


class Source(Protocol):
    """A camera, or somebody who hands over sightings instead of pictures."""

    def newest(self) -> Frame | NoFrame | Sighting:
        """Return what there is to see now. Never waits."""
        ...

    def close(self) -> None:
        """Let go of it. Twice is fine."""
        ...


@dataclass(frozen=True, slots=True)
class StandIns:
    """Parts of a service that are given instead of opened.

    Attributes
    ----------
    clock : Clock
        Goes on from the bench's last moment.
    doubt_s : float
        By how much it may be wrong against the run before. [s]
    source : Source
    senders : Senders
    """

    clock: Clock
    doubt_s: float
    source: Source
    senders: Senders
