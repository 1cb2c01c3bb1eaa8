"""What happens to a cast after its tip: each step when it was seen or said, and when it is to be expected."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

from models.draining import PastStep


class AfterStep(StrEnum):
    """The steps from the tip to the empty mould, in the order in which they come."""

    INVERTED = "inverted"  # upside down over the bucket, to drain
    UPRIGHT = "upright"  # drained, standing on its foot again
    SPARE_CUT = "spare_cut"  # the sheen is gone, the spare is cut off
    LETTING_GO = "letting_go"  # a gap opens at the pour hole: the piece shrinks away from the plaster
    DEMOULDED = "demoulded"


ORDER = {step: number for number, step in enumerate(AfterStep)}


@dataclass(frozen=True, slots=True)
class Noted:
    """A step that has come, when (bench seconds), and whether the caster said so or it was seen."""

    step: AfterStep
    at_s: float
    said: bool


@dataclass(frozen=True, slots=True)
class Due:
    """When a step is to be expected; the range holds the truth four times in five. [s]."""

    step: AfterStep
    at_s: float
    low_s: float
    high_s: float


@dataclass(frozen=True, slots=True)
class PastSetting:
    """What a mould's earlier casts tell of its demoulding.

    Attributes
    ----------
    let_go, clean, too_soon : tuple of PastStep
        The moment itself, where the caster saw the casts let go; when others came clean; when they stuck or
        slumped: the right moment was later.
    quickest_k : float or None
        Largest L2/t of its casts: that of the dry mould. [mm2/min]
    """

    let_go: tuple[PastStep, ...] = ()
    clean: tuple[PastStep, ...] = ()
    too_soon: tuple[PastStep, ...] = ()
    quickest_k: float | None = None

    def slowness(self, k: float) -> float:
        """Return how slow a cast of this L2/t is against the dry mould, held to what is known of setting."""
        return 1.0 if self.quickest_k is None else min(max(self.quickest_k / k, 0.3), 20.0)


@dataclass(frozen=True, slots=True)
class AfterTip:
    """Everything known about one cast after its tip.

    Attributes
    ----------
    noted : tuple of Noted
        In the order of the steps, each at most once.
    due : tuple of Due
        Forecasts made at the tip, in the order of the steps; empty while there is no wall to go by.
    tip_said : bool
        The tip itself is the caster's word: slip seen a moment later does not undo it.
    """

    noted: tuple[Noted, ...] = ()
    due: tuple[Due, ...] = ()
    tip_said: bool = False

    def when(self, step: AfterStep) -> Noted | None:
        """Return how a step was noted, or None."""
        return next((noted for noted in self.noted if noted.step is step), None)

    def expected(self, step: AfterStep) -> Due | None:
        """Return when a step is, or was, to be expected, or None."""
        return next((due for due in self.due if due.step is step), None)

    @property
    def next_due(self) -> Due | None:
        """The next step to be expected: later in order than everything noted. None: nothing is left."""
        come = max((ORDER[noted.step] for noted in self.noted), default=-1)
        return next((due for due in self.due if ORDER[due.step] > come), None)

    def with_step(self, step: AfterStep, at_s: float, *, said: bool) -> AfterTip:
        """Note a step. The caster's word is never overwritten by what is seen; a newer word is."""
        before = self.when(step)
        if before is not None and before.said and not said:
            return self
        others = [noted for noted in self.noted if noted.step is not step]
        kept = sorted([*others, Noted(step, at_s, said)], key=lambda noted: ORDER[noted.step])
        return replace(self, noted=tuple(kept))

    def without(self, step: AfterStep) -> AfterTip:
        """Take a step back."""
        return replace(self, noted=tuple(noted for noted in self.noted if noted.step is not step))
