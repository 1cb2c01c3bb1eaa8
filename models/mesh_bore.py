"""A bore table and wetted area from an STL of the cavity or of the piece."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import numpy.typing as npt

from models.doors import BadValue, number
from models.profile_ways import AREA_REL_SIGMA, Way

Array = npt.NDArray[np.float64]
Loop = Array
"""Corners of one closed cut line, shape (n, 2). [mm]"""

Key = tuple[int, int]
"""A corner rounded to 10 nm, to find it again in the next triangle."""

ROWS = 25
"""Rows of the bore table that is made."""

_CUTS = 200  # cuts for area and volume: 1 mm apart on an ordinary pot
_LEAST_MM, _MOST_MM = 25.0, 1200.0  # longest side of what is cast in a workshop
_MOST_BYTES = 80_000_000
_MOST_FACES = 400_000  # about 5 s of work; a drawing that is good for printing has a tenth
_MOST_CROSSINGS = 1_000_000  # cut lines' corners over all cuts: slivers from top to bottom are cut every time
_MOST_UNITS = 1e6  # no pot is a kilometre high in any unit, and beyond it sums of squares lose their meaning


class MeshUnit(StrEnum):
    """Unit of a file's numbers; STL itself does not say."""

    MM = "mm"
    CM = "cm"
    INCH = "inch"
    M = "m"


_MM_PER = {MeshUnit.MM: 1.0, MeshUnit.CM: 10.0, MeshUnit.INCH: 25.4, MeshUnit.M: 1000.0}


@dataclass(frozen=True, slots=True)
class MeshProfile:
    """What a drawing says of a mould.

    Attributes
    ----------
    bore : tuple of (depth_mm, diameter_mm)
        Diameter of the circle with the same area, from the top down. [mm]
    wetted_area_mm2 : float
        Wall and floor, top left open. [mm2]
    volume_ml : float
        To the top. [mL]
    area_rel_sigma : float
        Relative standard deviation of the area, the shrinkage's included.
    roundness : float
        Least over all cuts of 4 pi area / perimeter2: 1 is a circle, below about 0.9 a bore table of circles
        misses the shape and only area and volume should be used.
    """

    bore: tuple[tuple[float, float], ...]
    wetted_area_mm2: float
    volume_ml: float
    area_rel_sigma: float
    roundness: float


def profile_from_mesh(
    data: bytes,
    *,
    unit: MeshUnit,
    shrinkage: float = 0.0,
    shrinkage_sigma: float = 0.0,
    top_is_up: bool = True,
) -> MeshProfile:
    """Read an STL and cut it level by level, axis z, pour hole at the top.

    Parameters
    ----------
    data : bytes
        Contents of the file. A solid of the cavity, or the piece: of each cut only the outermost line counts.
    unit : MeshUnit
        Unit of its numbers; a size that no pot has in that unit is refused.
    shrinkage : float
        0 for a drawing of the mould's cavity; for a piece as fired (dry), its linear shrinkage to that state:
        the cavity is larger by 1/(1 - s).
    shrinkage_sigma : float
        What is not known of it; two of it go into the area.
    top_is_up : bool
        False: the pour hole lies at the low end of z.

    Raises
    ------
    BadValue
        No mesh, an open one, a wrong unit or an absurd shrinkage: one sentence each.
    """
    share = number("shrinkage", shrinkage, wanted="a share, 0 to 0.3 (12 % is 0.12)", least=0, most=0.3)
    doubt = number("shrinkage sigma", shrinkage_sigma, wanted="a share, 0 to 0.1", least=0, most=0.1)
    triangles = _closed_triangles(data) * (_MM_PER[unit] / (1.0 - share))
    _check_size(triangles, unit)
    heights = triangles[:, :, 2]
    low, high = float(heights.min()), float(heights.max())
    # cuts stay off the flat ends, where a plane would lie in a face
    at = low + (high - low) * (np.arange(_CUTS) + 0.5) / _CUTS
    _check_crossings(heights, at)
    outlines = [_outermost(_loops(triangles, z)) for z in (reversed(at) if top_is_up else at)]
    areas = np.array([abs(_signed_area(loop)) for loop in outlines])
    rims = np.array([_perimeter(loop) for loop in outlines])
    depths = (np.arange(_CUTS) + 0.5) * (high - low) / _CUTS
    round_mm2 = 4.0 * math.pi * areas / rims**2
    return MeshProfile(
        bore=_table(depths, areas, high - low),
        wetted_area_mm2=_wetted(depths, areas, rims, high - low),
        volume_ml=float(areas.mean() * (high - low)) / 1000.0,
        area_rel_sigma=math.hypot(AREA_REL_SIGMA[Way.MESH], 2.0 * doubt / (1.0 - share)),
        roundness=float(round_mm2.min()),
    )


def _closed_triangles(data: bytes) -> Array:
    import trimesh  # 0.3 s of loading that only this reader needs

    if len(data) > _MOST_BYTES:
        raise BadValue(f"mesh is larger than {_MOST_BYTES / 1e6:g} MB; export it more coarsely")
    try:
        # unprocessed: merging corners casts them to whole numbers, which those of a hostile file overflow
        with np.errstate(invalid="ignore"):  # corners that are no numbers are refused below
            mesh = trimesh.load_mesh(trimesh.util.wrap_as_stream(data), file_type="stl", process=False)
        faces = len(mesh.faces)
    except (ValueError, IndexError, AttributeError, KeyError, TypeError) as wrong:
        raise BadValue("mesh is no STL that can be read; export it again as binary STL") from wrong
    if not 4 <= faces <= _MOST_FACES:
        raise BadValue(
            f"mesh has {faces} faces; give a closed solid of the cavity or of the piece, 4 to {_MOST_FACES}"
        )
    if not (np.abs(mesh.vertices) <= _MOST_UNITS).all():  # so are NaNs refused
        raise BadValue("mesh has corners that are no place near a pot; export it again")
    mesh.process(validate=False)
    if not mesh.is_watertight:
        edges = mesh.edges_sorted[trimesh.grouping.group_rows(mesh.edges_sorted, require_count=1)]
        raise BadValue(
            f"mesh is open along {len(edges)} edges; close it (a cavity needs its lid, a piece its wall)"
        )
    return np.asarray(mesh.triangles, dtype=np.float64)


def _check_size(triangles: Array, unit: MeshUnit) -> None:
    longest = float(np.ptp(triangles.reshape(-1, 3), axis=0).max())
    if _LEAST_MM <= longest <= _MOST_MM:
        return
    fits = [
        u.value
        for u in MeshUnit
        if _LEAST_MM <= longest / _MM_PER[unit] * _MM_PER[u] <= _MOST_MM and u is not unit
    ]
    hint = f"; in {' or '.join(fits)} it would be a pot" if fits else ""
    raise BadValue(
        f"mesh's longest side is {longest:.4g} mm; give the unit that makes it "
        f"{_LEAST_MM:g} to {_MOST_MM:g} mm{hint}"
    )


def _check_crossings(heights: Array, at: Array) -> None:
    each = np.searchsorted(at, heights.max(axis=1)) - np.searchsorted(at, heights.min(axis=1))
    if int(each.sum()) > _MOST_CROSSINGS:
        raise BadValue("mesh has far more slivers than a pot needs; export it more coarsely")


def _loops(triangles: Array, z: float) -> list[Loop]:
    """Find the closed cut lines of a level plane, each with its corners in order."""
    above = triangles[:, :, 2] > z
    crossing = triangles[above.any(axis=1) & ~above.all(axis=1)]
    pairs = _crossings(crossing, z)
    keys = np.round(pairs * 1e5).astype(np.int64).tolist()
    ends: dict[Key, list[Key]] = {}
    for (ax, ay), (bx, by) in keys:
        a, b = (ax, ay), (bx, by)
        if a != b:
            ends.setdefault(a, []).append(b)
            ends.setdefault(b, []).append(a)
    return [np.array(chain) / 1e5 for chain in _chains(ends) if len(chain) > 2]


def _crossings(triangles: Array, z: float) -> Array:
    """Points where the two cut sides of each triangle meet the plane, shape (n, 2, 2)."""
    here, there = triangles, np.roll(triangles, -1, axis=1)
    cut = (here[:, :, 2] > z) != (there[:, :, 2] > z)
    # from the upper to the lower end, so that both neighbours compute the very same point
    up = np.where((here[:, :, 2] > z)[:, :, None], here, there)[cut]
    down = np.where((here[:, :, 2] > z)[:, :, None], there, here)[cut]
    share = (z - down[:, 2]) / (up[:, 2] - down[:, 2])
    points = down[:, :2] + share[:, None] * (up[:, :2] - down[:, :2])
    return np.asarray(points.reshape(-1, 2, 2))


def _chains(ends: dict[Key, list[Key]]) -> list[list[Key]]:
    left = {key: list(to) for key, to in ends.items()}
    chains = []
    for start in ends:
        chain, here = [start], start
        while left[here]:
            there = left[here].pop()
            left[there].remove(here)
            chain.append(there)
            here = there
        if len(chain) > 1:
            chains.append(chain)
    return chains


def _outermost(loops: list[Loop]) -> Loop:
    if not loops:
        raise BadValue("mesh has a gap between two solids; give one solid, standing on its foot along z")
    return max(loops, key=lambda loop: abs(_signed_area(loop)))


def _signed_area(loop: Loop) -> float:
    x, y = loop[:, 0], loop[:, 1]
    return float(0.5 * np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))


def _perimeter(loop: Loop) -> float:
    return float(np.sum(np.hypot(*(np.roll(loop, -1, axis=0) - loop).T)))


def _wetted(depths: Array, areas: Array, rims: Array, height: float) -> float:
    """Wall by outline times slant, the slant from the circle of the same area; and the floor."""
    radius = np.sqrt(areas / math.pi)
    slope = np.gradient(radius, depths)
    return float(np.mean(rims * np.sqrt(1.0 + slope**2)) * height + areas[-1])


def _table(depths: Array, areas: Array, height: float) -> tuple[tuple[float, float], ...]:
    rows = np.linspace(0.0, height, ROWS)
    diameters = np.interp(rows, depths, 2.0 * np.sqrt(areas / math.pi))
    return tuple((round(float(z), 3), round(float(d), 3)) for z, d in zip(rows, diameters, strict=True))
