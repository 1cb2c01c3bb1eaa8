"""What the journal remembers: earlier casts, and the bench as it stood when the service last ran."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from types import MappingProxyType
from typing import Any

from watcher.records.after_tip import AfterTip
from watcher.records.bench import Filling, MouldState
from watcher.records.notices import Alert


@dataclass(frozen=True, slots=True)
class KeptCast:
    """A cast as it is remembered.

    Attributes
    ----------
    fillings : tuple of Filling
        With their readings (after some weeks one a minute).
    figures : mapping
        What was worked out for it at its newest moment, as plain numbers: `fit` and `estimate`, each with the
        `kind` of answer it was and its fields.
    verdict : str
        The newest of `came_out_right`, `too_thin`, `too_thick` that the caster said, or empty.
    notes : tuple of str
        What the caster wrote about it.
    profile_hash, slip_hash : str
        The versions of profile and slip that it was cast by; empty where none was kept.
    after : AfterTip
        The steps after its tip, as far as they were seen or said.
    """

    cast_id: str
    mould: str
    number_today: int
    began_s: float
    began_at: datetime
    tipped_s: float | None
    tipped_at: datetime | None
    leaking: bool
    fillings: tuple[Filling, ...] = ()
    figures: Mapping[str, Any] = field(default_factory=lambda: MappingProxyType({}))
    verdict: str = ""
    notes: tuple[str, ...] = ()
    profile_hash: str = ""
    slip_hash: str = ""
    after: AfterTip = field(default_factory=AfterTip)

    @property
    def drop_mm(self) -> tuple[float, float] | None:
        """How far the slip sank in all its fillings, with its standard deviation; None when never read twice.

        Each filling counts from its first to its last reading, so what sank before the first and after the
        last is not in it.
        """
        drops = [
            (
                f.readings[-1].level_mm - f.readings[0].level_mm,
                f.readings[0].drift_sigma_mm,
                f.readings[-1].drift_sigma_mm,
            )
            for f in self.fillings
            if len(f.readings) > 1
        ]
        if not drops:
            return None
        return sum(drop for drop, _, _ in drops), math.hypot(*(s for _, a, b in drops for s in (a, b)))


@dataclass(frozen=True, slots=True)
class Restored:
    """The bench as it stood when the service last wrote.

    Attributes
    ----------
    moulds : mapping of str to MouldState
        With their open casts, fillings and readings. Fits and estimates are left to be worked out anew.
    alerts : tuple of Alert
        Those of the last day with their states: what was told stays told.
    history : mapping of str to tuple of KeptCast
        Earlier casts of each mould, newest first.
    """

    moulds: Mapping[str, MouldState]
    alerts: tuple[Alert, ...]
    history: Mapping[str, tuple[KeptCast, ...]]
