"""The file of a bench, put together from lens, sheet, slip and mould profiles."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from models.mould import PourHole
from models.profile_text import ProfileFile
from models.slip import Slip
from watcher.records.layout import Lens
from watcher.setup.bench_file import BenchFile
from watcher.setup.sheet_file import sheet_table
from watcher.setup.toml_text import Table, Value, toml_text

HEADING = """A bench: its camera's lens, its sheet, its slip and its moulds.
Put together by `tipbell bench`; change the parts and put it together again, or change it here."""


def bench_text(lens: Lens, bench: BenchFile, slip: Slip, moulds: Sequence[ProfileFile]) -> str:
    """Write the file that a bench is watched by.

    Parameters
    ----------
    lens : Lens
    bench : BenchFile
        The sheet's tags, and a surveyed strip's.
    slip : Slip
    moulds : sequence of ProfileFile
        Each with its card or its place.
    """
    camera: Table = {
        "width": lens.width_px,
        "height": lens.height_px,
        "fx": lens.fx_px,
        "fy": lens.fy_px,
        "cx": lens.cx_px,
        "cy": lens.cy_px,
        "distortion": list(lens.distortion),
    }
    poured: Table = {
        "specific_gravity": slip.specific_gravity,
        "cake_solids_fraction": slip.cake_solids_fraction,
    }
    tables: list[tuple[str, Table]] = [("camera", camera), ("slip", poured)]
    if bench.up != (0.0, 0.0, 1.0):
        tables.append(("bench", {"up": list(bench.up)}))
    tables += [("[[sheet]]", sheet_table(tag, bench.dictionary)) for tag in bench.tags]
    tables += [("[[mould]]", mould_table(profile)) for profile in moulds]
    return toml_text(tables, HEADING)


def mould_table(profile: ProfileFile) -> Table:
    """Return a profile as the `[[mould]]` table of a bench."""
    mould, card = profile.mould, profile.card
    values: dict[str, Value | None] = {
        "name": mould.name,
        "tag_id": card.tag_id,
        "tag_size_mm": card.tag_size_mm,
        "rim_centre_from_tag_mm": card.rim_centre_from_tag_mm,
        "place_mm": card.place_mm,
        "bore": [list(row) for row in mould.bore],
        "holes": [_hole(hole) for hole in mould.holes] if mould.holes != (PourHole(),) else None,
        "target_wall_mm": mould.target_wall_mm,
        "target_water_ml": mould.target_water_ml,
        "wetted_area_mm2": mould.wetted_area_mm2,
        "area_rel_sigma": mould.area_rel_sigma,
        "trim_line_mm": mould.trim_line_mm,
        "solid": mould.solid or None,
    }
    return {key: value for key, value in values.items() if value is not None}


def _hole(hole: PourHole) -> Mapping[str, Value]:
    table: dict[str, Value] = {"centre_mm": list(hole.centre_mm)}
    if hole.bore:
        table["bore"] = [list(row) for row in hole.bore]
    if hole.axes_mm is not None:
        table["axes_mm"] = list(hole.axes_mm)
    return table
