"""What the slip check says to the caster, in plain lines."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from models.diary import REFERENCE_C
from models.slip_check import STIR_MIN, Verdict
from models.slip_desk import SlipChange
from models.slip_weight import SlipMeasure, in_measure
from watcher.desk.slip_reading import MUCH_THIXOTROPY, Mending, SlipMorning

_SAID: Mapping[Verdict, str] = {
    Verdict.GOOD: "good: within your band",
    Verdict.STIR_FIRST: (
        "stir first: outside your band, but not stirred through, and a slip that stood often only seems so; "
        f"stir {STIR_MIN:g} min, measure again (with --stirred), and add nothing before"
    ),
    Verdict.TOO_THICK: "too thick: above your band, though stirred through",
    Verdict.TOO_THIN: "too thin: below your band",
    Verdict.GELS: (
        "right in weight, but it runs too slowly: it wants deflocculant, a few drops at a time, and no water"
    ),
    Verdict.RUNS: "right in weight, but it runs too fast: too much deflocculant, or not aged; add nothing",
}


def lines_for(morning: SlipMorning) -> Iterator[str]:
    """Say the check in lines; the verdict comes first."""
    yield from _verdict(morning)
    grams = in_measure(SlipMeasure.LITRE_G, morning.sg)
    yield (
        f"specific gravity {morning.sg:.3f}: a litre weighs {grams:.0f} g and holds "
        f"{morning.per_litre.dry_g:.0f} g of dry clay and {morning.per_litre.water_g:.0f} g of water"
    )
    if morning.mending is not None:
        yield from _mending(morning, morning.mending)
    if morning.warmth_ratio is not None and morning.words.temperature_c is not None:
        yield (
            f"at {morning.words.temperature_c:g} C a cast takes {morning.warmth_ratio:.2f} times as long "
            f"as at {REFERENCE_C:g} C"
        )
    yield from _flow(morning)
    if morning.against_bench is not None:
        yield f"beside the slip in the bench's file: {_effect(morning.against_bench)}"


def _verdict(morning: SlipMorning) -> Iterator[str]:
    if morning.verdict is None:
        yield "no verdict: give your own band with --band LOW:HIGH, in the measure that you read"
        return
    yield _SAID[morning.verdict.verdict]


def _mending(morning: SlipMorning, mending: Mending) -> Iterator[str]:
    verdict = morning.verdict
    assert verdict is not None
    then = f"stir {verdict.stir_min:g} min, leave it {verdict.rest_min:g} min, and measure again"
    goal = f"to {mending.goal_sg:.3f}, the middle of your band"
    if mending.water_l is not None:
        yield f"it takes {mending.water_l:.2f} L of water {goal}: add half of it, {then}"
    elif mending.thicker_l is not None:
        yield f"it takes {mending.thicker_l:.2f} L of the thicker slip {goal}: add half of it, {then}"
    elif mending.powder_kg is not None:
        yield (
            f"it takes {mending.powder_kg:.2f} kg of dry powder {goal} (or thicker slip: --thicker): wet it "
            f"under water first, its dust harms the lungs; add half of it, {then}"
        )
    else:
        yield "give --tank LITRES to hear how much to add"
    if mending.effect is not None:
        yield f"mended so: {_effect(mending.effect)}"


def _flow(morning: SlipMorning) -> Iterator[str]:
    if morning.flow is None:
        return
    yield f"{morning.flow.seconds:g} s to run out: {morning.flow.why}"
    if morning.flow.misfit:
        yield f"note: {morning.flow.misfit}"
    if morning.thick is None:
        return
    much = "; pour soon after stirring" if morning.thick.ratio >= MUCH_THIXOTROPY else ""
    yield (
        f"it runs {morning.thick.ratio:.2f} times as long after {morning.thick.stood_min:g} min of standing "
        f"(its thixotropy){much}"
    )


def _effect(change: SlipChange) -> str:
    time = change.time_ratio
    return (
        f"the same wall takes {time.value:.2f} times as long ({time.low:.2f} to {time.high:.2f}), the level "
        f"falls {change.drop_ratio:.2f} times as far (f from {change.water_per_cake_before:.3f} to "
        f"{change.water_per_cake_after:.3f})"
    )
