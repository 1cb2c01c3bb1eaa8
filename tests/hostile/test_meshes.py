"""An STL may lie about itself: it is refused in a sentence, soon, and no number comes of it."""

from __future__ import annotations

import math
import struct
import time

import numpy as np
import numpy.typing as npt
import pytest
import trimesh
from fuzz_budget import tries
from hypothesis import given
from hypothesis import strategies as st

from models.doors import BadValue
from models.mesh_bore import MeshUnit, profile_from_mesh

SOON_S = 3.0
POT = np.asarray(trimesh.creation.cylinder(radius=30, height=100, sections=24).triangles)


def stl(triangles: npt.NDArray[np.float64], count: int | None = None, head: bytes = b"") -> bytes:
    """A binary STL of these triangles that says it has `count` of them."""
    out = bytearray(head.ljust(80, b"\0") + struct.pack("<I", len(triangles) if count is None else count))
    for triangle in triangles:
        out += struct.pack("<12fH", 0, 0, 0, *triangle.ravel(), 0)
    return bytes(out)


def with_corner(value: float) -> bytes:
    triangles = POT.copy()
    triangles[3, 1, 2] = value
    return stl(triangles)


FACET = b"facet normal %s\nouter loop\nvertex %s\nvertex 1 2 3\nvertex 1 2 4\nendloop\nendfacet\n"
HOSTILE = {
    "a count of four thousand million": stl(POT, 2**32 - 1),
    "a count of none": stl(POT, 0),
    "a count of one less": stl(POT, len(POT) - 1),
    "a count of one more": stl(POT, len(POT) + 1),
    "binary that calls itself text, with a lie": stl(POT, 2**31, b"solid pot"),
    "not a number": with_corner(math.nan),
    "without end": with_corner(math.inf),
    "beyond all measure": with_corner(3e38),
    "below all measure": with_corner(-3e38),
    "all in one point": stl(POT * 0.0),
    "flat": stl(POT * [1.0, 1.0, 0.0]),
    "smaller than an atom": stl(POT * 1e-30),
    "one face five thousand times": stl(np.repeat(POT[:1], 5000, axis=0)),
    "two pots with a gap": stl(np.concatenate([POT, POT + np.array([0.0, 0.0, 300.0])])),
    "more faces than a pot has": bytes(80) + struct.pack("<I", 500_000) + bytes(50 * 500_000),
    "text without a face": b"solid pot\nendsolid pot\n",
    "text of no numbers": b"solid pot\n" + FACET % (b"a b c", b"d e f") + b"endsolid pot\n",
    "text of NaN": b"solid pot\n" + FACET % (b"nan nan nan", b"nan nan nan") + b"endsolid pot\n",
    "text cut short": b"solid pot\nfacet normal 0 0 1\nouter loop\nvertex 1 2",
    "one endless name": b"solid " + b"x" * 2_000_000,
    "fifty thousand empty solids": b"solid a\nendsolid a\n" * 50_000,
    "text in two-byte letters": "solid pot".encode("utf-16"),
    "nothing": b"",
    "a head alone": bytes(84),
    "a zip": b"PK\x03\x04" + bytes(200),
    "another program's mesh": b"v 0 0 0\nf 1 1 1\n",
}


@pytest.mark.parametrize("name", list(HOSTILE))
def test_what_is_no_honest_solid_is_refused_soon_in_one_sentence(name: str) -> None:
    began = time.perf_counter()
    with pytest.raises(BadValue) as refused:
        profile_from_mesh(HOSTILE[name], unit=MeshUnit.MM)
    assert time.perf_counter() - began < SOON_S
    assert "\n" not in str(refused.value) and len(str(refused.value)) < 250


def test_slivers_from_top_to_bottom_are_refused_before_they_are_cut() -> None:
    drawn = trimesh.creation.cylinder(radius=30, height=100, sections=20_000)
    began = time.perf_counter()
    with pytest.raises(BadValue, match="slivers"):
        profile_from_mesh(drawn.export(file_type="stl"), unit=MeshUnit.MM)
    assert time.perf_counter() - began < SOON_S


def test_binary_that_calls_itself_text_is_still_read() -> None:
    profile = profile_from_mesh(stl(POT, head=b"solid pot"), unit=MeshUnit.MM)
    # a prism of 24 sides: half of n r2 sin(2 pi / n) times its height
    assert profile.volume_ml == pytest.approx(12 * 900.0 * math.sin(math.pi / 12) * 100 / 1000, rel=1e-3)


def test_a_corner_that_is_no_number_of_the_kind_that_processors_signal_is_refused_with_a_sentence() -> None:
    changed = bytearray(stl(POT))
    changed[80 + 4 + 12 : 80 + 4 + 16] = b"\x01\x00\x80\x7f"  # IEEE 754: a NaN without its quiet bit
    with pytest.raises(BadValue, match="no place near a pot"):
        profile_from_mesh(bytes(changed), unit=MeshUnit.MM)


@given(data=st.data())
@tries(60)
def test_a_drawing_with_any_of_its_bytes_changed_gives_a_pot_or_a_sentence(data: st.DataObject) -> None:
    changed = bytearray(stl(POT))
    for _ in range(data.draw(st.integers(1, 8))):
        changed[data.draw(st.integers(0, len(changed) - 1))] = data.draw(st.integers(0, 255))
    try:
        profile = profile_from_mesh(bytes(changed), unit=MeshUnit.MM)
    except BadValue as refused:
        assert "\n" not in str(refused)
    else:
        assert 0.0 < profile.volume_ml < 1e6 and 0.0 < profile.wetted_area_mm2 < 1e8
        assert all(math.isfinite(number) for row in profile.bore for number in row)
