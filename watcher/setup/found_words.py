"""What was found of a mould, a bench and its holes, in the caster's words."""

from __future__ import annotations

from models.doors import BadValue
from models.slip import Slip
from models.target_check import FILLED_TO_MM, check_target
from watcher.records.layout import BenchLayout
from watcher.setup.bench_sight import BenchSight
from watcher.setup.holes_ahead import HoleAhead
from watcher.setup.mould_place import MouldPlaced


def of_mould(sight: BenchSight, placed: MouldPlaced) -> list[str]:
    """Say where a rim was found and how well its hole will be read."""
    rim, reading = placed.rim, placed.reading
    lines = [f"note: {line}" for line in (*sight.warnings, *placed.warnings)]
    how = "by its edge in the picture" if placed.edge_found else "by the taps alone"
    lines.append(
        f"rim found {how}: {rim.diameter_mm:.1f} mm wide, its centre to {rim.centre_sigma_mm:.1f} mm"
        + ("" if placed.card is None else f", {_from_card(placed.card.rim_centre_from_tag_mm)}")
    )
    lost = "" if reading.lost_below_mm is None else f"; lost below {reading.lost_below_mm:.0f} mm"
    about = f": a level to about {reading.level_sigma_mm:.2f} mm" if reading.level_sigma_mm < 10.0 else ""
    lines.append(f"this hole will be read {reading.how_well.value}{about}{lost}")
    return lines + list(reading.advice)


def of_bench(seen: BenchSight) -> list[str]:
    """Say where the camera stands, and what is wrong with how the sheet lies."""
    x, y, z = seen.camera.eye_mm()
    place = f"the camera stands {z:.0f} mm above, {abs(y):.0f} mm before and {abs(x):.0f} mm beside the sheet"
    if seen.check is not None:
        place += f"; known to {seen.check.place_sigma_mm:.1f} mm and {seen.check.turn_sigma_deg:.2f} degrees"
    return [place, *(f"note: {line}" for line in seen.warnings)]


def of_hole(hole: HoleAhead) -> list[str]:
    """Say how well a hole will be read, and what would help."""
    lines = [f"note: {line}" for line in hole.warnings]
    if hole.reading is None:
        return lines
    reading = hole.reading
    about = f", a level to about {reading.level_sigma_mm:.2f} mm" if reading.level_sigma_mm < 10.0 else ""
    lost = "" if reading.lost_below_mm is None else f", lost below {reading.lost_below_mm:.0f} mm"
    lines.append(
        f"{hole.name}: {reading.how_well.value} read{about}{lost} "
        f"(seen {reading.from_vertical_deg:.0f} degrees from the vertical)"
    )
    return lines + [f"  {line}" for line in reading.advice]


def falls(layout: BenchLayout, slip: Slip) -> dict[str, float]:
    """How far the slip will sink in moulds that have a wanted wall, in mm below the rim."""
    found = {}
    for mould in layout.moulds:
        if mould.profile.target_wall_mm is None:
            continue
        try:
            full_mm = min(FILLED_TO_MM, mould.profile.neck_mm)
            asked = check_target(mould.profile, slip, mould.profile.target_wall_mm[0], filled_to_mm=full_mm)
        except BadValue:
            continue
        # with a top-up due the level never falls below the neck
        deepest = mould.profile.neck_mm if asked.top_up_at else asked.drop_mm
        found[mould.name] = min(max(deepest, 5.0), mould.profile.depth_mm)
    return found


def _from_card(place: tuple[float, float, float]) -> str:
    x, y, _ = place
    aside, along = "right" if x >= 0 else "left", "above" if y >= 0 else "below"
    return f"{abs(x):.1f} mm {aside} of and {abs(y):.1f} mm {along} the card's middle"
