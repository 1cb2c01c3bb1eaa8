"""A mould's first profile from its drawing, an STL of the cavity or of the piece."""

from __future__ import annotations

from models.doors import BadValue
from models.mesh_bore import MeshUnit, profile_from_mesh
from models.mould import checked_mould
from models.profile_text import ProfileFile
from models.profile_ways import Way

LEAST_ROUND = 0.9
"""Below this roundness a bore table of circles misses the shape; area and volume still hold."""


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
