"""A mould's profile from its drawing, an STL of the cavity or of the piece."""

from __future__ import annotations

from dataclasses import replace

from models.doors import BadValue
from models.mesh_bore import MeshUnit, profile_from_mesh
from models.mould import checked_mould
from models.profile_text import ProfileFile
from models.profile_ways import Way

LEAST_ROUND = 0.9
"""Below this roundness a bore table of circles misses the shape; area and volume still hold."""
MOST_OFF_MM = 3.0
"""A drawn hole that is wider or narrower than the measured one by more is more often a wrong shrinkage or
another mould's drawing than a bad calliper (common practice, no source). [mm]"""


def drawn_profile(
    name: str, data: bytes, wall_mm: float | None, unit: str = "mm", shrinkage: float = 0.0
) -> ProfileFile:
    """Read a drawing.

    Parameters
    ----------
    name : str
    data : bytes
        Contents of the STL file.
    wall_mm : float or None
        The wanted wall. [mm]
    unit : str
        Of the file's numbers: mm, cm, inch or m.
    shrinkage : float
        0 for a cavity; for a piece, its linear shrinkage as a share.

    Raises
    ------
    BadValue
        No mesh, an open one, a wrong unit or an absurd shrinkage: one sentence each.
    """
    if unit not in list(MeshUnit):
        raise BadValue(f"--stl-unit is '{unit}'; give mm, cm, inch or m")
    mesh = profile_from_mesh(data, unit=MeshUnit(unit), shrinkage=shrinkage)
    mould = checked_mould(
        name,
        mesh.bore,
        target_wall_mm=wall_mm,
        wetted_area_mm2=mesh.wetted_area_mm2,
        area_rel_sigma=mesh.area_rel_sigma,
    )
    note = (
        "" if mesh.roundness >= LEAST_ROUND else "drawn, not round: area and volume hold, the bore is a guess"
    )
    return ProfileFile(mould, way=Way.MESH, note=note)


def drawn_again(known: ProfileFile, drawn: ProfileFile) -> ProfileFile:
    """Give a mould that is known its drawn shape: card, holes and what is wanted of it stay.

    Raises
    ------
    BadValue
        What is wanted cannot be of the drawn shape.
    """
    own, shape = known.mould, drawn.mould
    mould = checked_mould(
        own.name, shape.bore, holes=own.holes, target_wall_mm=shape.target_wall_mm or own.target_wall_mm,
        wetted_area_mm2=shape.wetted_area_mm2, target_water_ml=own.target_water_ml,
        trim_line_mm=own.trim_line_mm, area_rel_sigma=shape.area_rel_sigma, solid=own.solid,
    )  # fmt: skip
    return replace(drawn, mould=mould, card=known.card)


def other_width(known: ProfileFile, drawn: ProfileFile) -> str | None:
    """Ask back where the drawn hole is not as wide as it was measured; None where it is."""
    measured, drawn_mm = known.mould.bore[0][1], drawn.mould.bore[0][1]
    if abs(drawn_mm - measured) <= MOST_OFF_MM:
        return None
    return (
        f"the drawn hole is {drawn_mm:.1f} mm wide at its top and {known.mould.name} measures {measured:g} "
        "mm there; are unit and shrinkage right, and does the drawing end at the rim?"
    )


def drawn_words(drawn: ProfileFile) -> tuple[str, ...]:
    """Say what a drawing told."""
    mould = drawn.mould
    assert mould.wetted_area_mm2 is not None
    says = (
        f"drawn: {mould.bore[0][1]:.1f} mm wide at the top, {mould.bore[-1][0]:.1f} mm deep, "
        f"{mould.wetted_area_mm2 / 100.0:.0f} cm2 of plaster wetted, to {100.0 * mould.area_rel_sigma:.2g} %"
    )
    return (says, drawn.note) if drawn.note else (says,)
