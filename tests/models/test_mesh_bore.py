"""Truth: bodies with closed forms (cylinder, cone, bowl) made into STL by trimesh; faults put into them."""

import math
import warnings

import numpy as np
import pytest

from models.doors import BadValue
from models.mesh_bore import MeshUnit, profile_from_mesh


def _revolved(rows, sections=192):
    """STL of a solid of revolution, z up; rows of (radius, z) from axis to axis."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import trimesh

        mesh = trimesh.creation.revolve(np.array(rows, dtype=float), sections=sections)
    return mesh.export(file_type="stl"), mesh


def _read(data, **more):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return profile_from_mesh(data, unit=more.pop("unit", MeshUnit.MM), **more)


CYLINDER = [(0, 0), (40, 0), (40, 100), (0, 100)]
CONE = [(0, 0), (30, 0), (45, 100), (0, 100)]  # narrower foot


def test_a_cylinder_gives_its_own_area_and_volume():
    said = _read(_revolved(CYLINDER)[0])
    assert said.volume_ml == pytest.approx(math.pi * 40**2 * 100 / 1000, rel=2e-3)
    assert said.wetted_area_mm2 == pytest.approx(math.pi * 80 * 100 + math.pi * 1600, rel=2e-3)
    assert said.bore[0] == (0.0, pytest.approx(80.0, rel=1e-3))
    assert said.bore[-1] == (100.0, pytest.approx(80.0, rel=1e-3))
    assert said.roundness == pytest.approx(1.0, abs=0.01)


@pytest.mark.parametrize(
    ("up", "first", "last", "floor"), [(True, 90.0, 60.0, 30.0), (False, 60.0, 90.0, 45.0)]
)
def test_a_cone_may_stand_either_way(up, first, last, floor):
    said = _read(_revolved(CONE)[0], top_is_up=up)
    assert said.bore[0][1] == pytest.approx(first, rel=5e-3)
    assert said.bore[-1][1] == pytest.approx(last, rel=5e-3)
    slant = math.hypot(15, 100)
    assert said.wetted_area_mm2 == pytest.approx(math.pi * 75 * slant + math.pi * floor**2, rel=3e-3)


def test_of_a_hollow_piece_only_the_outside_counts():
    beaker = [(0, 0), (40, 0), (40, 100), (36, 100), (36, 5), (0, 5)]
    said = _read(_revolved(beaker)[0])
    assert said.volume_ml == pytest.approx(math.pi * 40**2 * 100 / 1000, rel=2e-3)


def test_a_fired_piece_came_from_a_larger_cavity():
    # 12 %: lengths by 1/.88, volume by 1/.88^3
    said = _read(_revolved(CYLINDER)[0], shrinkage=0.12, shrinkage_sigma=0.01)
    assert said.bore[0][1] == pytest.approx(80 / 0.88, rel=1e-3)
    assert said.volume_ml == pytest.approx(502.65 / 0.88**3, rel=3e-3)
    assert said.area_rel_sigma == pytest.approx(math.hypot(0.025, 2 * 0.01 / 0.88), rel=1e-6)


def test_a_drawing_in_inches_is_noticed_and_read():
    data, _ = _revolved([(r / 25.4, z / 25.4) for r, z in CYLINDER])
    with pytest.raises(
        BadValue, match=r"^mesh's longest side is 3.937 mm; .*; in cm or inch it would be a pot"
    ):
        _read(data)
    assert _read(data, unit=MeshUnit.INCH).volume_ml == pytest.approx(502.65, rel=3e-3)


def test_an_open_mesh_is_said():
    _, mesh = _revolved(CYLINDER, sections=24)
    keep = np.ones(len(mesh.faces), dtype=bool)
    keep[3] = False
    mesh.update_faces(keep)
    with pytest.raises(BadValue, match=r"^mesh is open along 3 edges; close it"):
        _read(mesh.export(file_type="stl"))


@pytest.mark.parametrize("data", [b"", b"hello", b"\0" * 200])
def test_what_is_no_mesh_is_said(data):
    with pytest.raises(BadValue, match=r"^mesh "):
        _read(data)


@pytest.mark.parametrize("bad", [math.nan, -0.1, 12, 1.0])
def test_absurd_shrinkage_is_refused(bad):
    with pytest.raises(BadValue, match=r"^shrinkage is .*; give a share, 0 to 0.3"):
        _read(b"", shrinkage=bad)


def test_a_square_box_says_that_it_is_not_round():
    import trimesh

    data = trimesh.creation.box(extents=(80, 80, 100)).export(file_type="stl")
    said = _read(data)
    # 4 pi a2/(4a)2 = pi/4
    assert said.roundness == pytest.approx(math.pi / 4, rel=1e-3)
    assert said.wetted_area_mm2 == pytest.approx(4 * 80 * 100 + 80 * 80, rel=1e-3)
