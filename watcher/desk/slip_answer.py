"""What the slip check comes to, as one plain dict: the command prints it, the page shows it."""

from __future__ import annotations

from typing import Any

from models.slip_desk import SlipChange
from models.slip_weight import SlipMeasure, in_measure
from watcher.desk.slip_reading import SlipMorning


def as_json(morning: SlipMorning) -> dict[str, Any]:
    """Return the check as plain values; what was not asked is null."""
    words, verdict, mending, flow = morning.words, morning.verdict, morning.mending, morning.flow
    return {
        "measure": words.measure.value,
        "reading": words.reading,
        "specific_gravity": morning.sg,
        "litre_g": in_measure(SlipMeasure.LITRE_G, morning.sg),
        "dry_g_per_litre": morning.per_litre.dry_g,
        "water_g_per_litre": morning.per_litre.water_g,
        "stirred": words.stirred,
        "temperature_c": words.temperature_c,
        "time_ratio_to_20_c": morning.warmth_ratio,
        "flow": None
        if flow is None
        else {"seconds": flow.seconds, "cup": flow.cup, "only_compares": flow.why, "misfit": flow.misfit},
        "thixotropy": None
        if morning.thick is None
        else {"ratio": morning.thick.ratio, "stood_min": morning.thick.stood_min},
        "band": None
        if morning.band is None
        else {
            "sg_low": morning.band.sg_low,
            "sg_high": morning.band.sg_high,
            "flow_low_s": morning.band.flow_low_s,
            "flow_high_s": morning.band.flow_high_s,
        },
        "verdict": None if verdict is None else verdict.verdict.value,
        "stir_min": None if verdict is None else verdict.stir_min,
        "rest_min": None if verdict is None else verdict.rest_min,
        "tank_l": words.tank_l,
        "mending": None
        if mending is None
        else {
            "goal_sg": mending.goal_sg,
            "water_l": mending.water_l,
            "thicker_l": mending.thicker_l,
            "powder_kg": mending.powder_kg,
            "effect": _effect_json(mending.effect),
        },
        "beside_bench": _effect_json(morning.against_bench),
    }


def _effect_json(change: SlipChange | None) -> dict[str, float] | None:
    if change is None:
        return None
    return {
        "water_per_cake_before": change.water_per_cake_before,
        "water_per_cake_after": change.water_per_cake_after,
        "time_ratio": change.time_ratio.value,
        "time_ratio_low": change.time_ratio.low,
        "time_ratio_high": change.time_ratio.high,
        "drop_ratio": change.drop_ratio,
    }
