"""The sample session holds together: files, sizes, tags, and a truth that keeps the books of water."""

from __future__ import annotations

import csv
import itertools
import math
import tomllib
from pathlib import Path

import cv2
import numpy as np
import pytest

SESSION = Path(__file__).resolve().parent.parent / "sample_frames" / "morning_bench"
MOST_BYTES = 15_000_000
SOLIDS_GRAVITY = 2.6  # clay bodies are about 2.6 (common practice, no source)


def rows(name: str) -> list[dict[str, str]]:
    with open(SESSION / name, newline="", encoding="utf-8") as f:
        return list(csv.DictReader(f))


@pytest.fixture(scope="module")
def settings() -> dict:
    return tomllib.loads((SESSION / "recording.toml").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def truth() -> list[dict[str, str]]:
    return rows("truth.csv")


def story(truth: list[dict[str, str]], mould: str) -> list[dict[str, str]]:
    return [row for row in truth if row["mould"] == mould]


def lens(settings: dict) -> tuple[np.ndarray, np.ndarray]:
    c = settings["camera"]
    matrix = np.array([[c["fx"], 0, c["cx"]], [0, c["fy"], c["cy"]], [0, 0, 1.0]])
    return matrix, np.array(c["distortion"])


def tags_in(picture: np.ndarray) -> dict[int, np.ndarray]:
    detector = cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11))
    larger = cv2.resize(picture, None, fx=2, fy=2, interpolation=cv2.INTER_CUBIC)
    corners, ids, _ = detector.detectMarkers(larger)
    found = {} if ids is None else dict(zip(ids.ravel().tolist(), corners, strict=True))
    return {tag_id: (square.reshape(4, 2) + 0.5) / 2 - 0.5 for tag_id, square in found.items()}


def square(size: float, centre: list[float], yaw_deg: float = 0.0) -> np.ndarray:
    h, a = size / 2, math.radians(yaw_deg)
    turn = np.array([[math.cos(a), -math.sin(a)], [math.sin(a), math.cos(a)]])
    flat = np.array([[-h, h], [h, h], [h, -h], [-h, -h]]) @ turn.T
    return np.column_stack([flat + centre[:2], np.full(4, centre[2])])


def test_it_is_small_and_says_what_it_is() -> None:
    assert sum(path.stat().st_size for path in SESSION.rglob("*")) < MOST_BYTES
    about = (SESSION / "about.md").read_text(encoding="utf-8")
    assert "Physically based renders" in about and "seed 4127" in about


def test_every_listed_frame_is_there_in_order_and_of_the_cameras_size(settings: dict) -> None:
    frames = rows("frames.csv")
    times = [float(row["time_s"]) for row in frames]
    assert times == sorted(times) and times[-1] > 2300
    assert max(b - a for a, b in itertools.pairwise(times)) <= 25.0
    assert sorted(p.name for p in (SESSION / "frames").iterdir()) == [Path(r["file"]).name for r in frames]
    size = (settings["camera"]["height"], settings["camera"]["width"], 3)
    assert all(cv2.imread(str(SESSION / row["file"])).shape == size for row in frames[::20])


def test_the_truth_has_a_row_for_every_frame_and_mould(settings: dict, truth: list[dict[str, str]]) -> None:
    names = [mould["name"] for mould in settings["mould"]]
    assert len(set(names)) == len(names) == 6
    expected = [(row["time_s"], name) for row in rows("frames.csv") for name in names]
    assert [(row["time_s"], row["mould"]) for row in truth] == expected
    assert {row["phase"] for row in truth} <= {"empty", "filling", "casting", "topping_up", "tipped"}


def test_it_tells_a_whole_morning(settings: dict) -> None:
    events = [row["event"] for row in rows("events.csv")]
    assert events.count("tipped") >= 2 and "topped_up" in events and "occlusion_start" in events
    assert next(float(r["time_s"]) for r in rows("events.csv") if r["event"] == "ready") < 600
    holes = [mould["bore"][0][1] for mould in settings["mould"]]
    assert min(holes) < 35 and max(holes) > 100


def test_the_tags_lie_where_the_true_poses_put_them(settings: dict) -> None:
    """The camera is found from the bench sheet alone; the cards must then fall into place."""
    matrix, distortion = lens(settings)
    found = tags_in(cv2.imread(str(SESSION / "frames" / "000000.jpg")))
    sheet = settings["sheet"]
    points = np.concatenate([square(tag["size_mm"], tag["centre_mm"]) for tag in sheet])
    seen = np.concatenate([found[tag["id"]] for tag in sheet])
    _, turn, shift = cv2.solvePnP(points, seen, matrix, distortion)
    places = {row["mould"]: row for row in rows("truth_pose.csv")[:6]}
    for mould in settings["mould"]:
        place = places[mould["name"]]
        yaw = float(place["yaw_deg"])
        rim = np.array([float(place[f"rim_{axis}_mm"]) for axis in "xyz"])
        lie = card_yaw(mould, found, rim, yaw, (matrix, distortion, turn, shift))
        assert lie < 2.0, f"{mould['name']}: its card lies {lie:.1f} px off"


def card_yaw(mould: dict, found: dict[int, np.ndarray], rim: np.ndarray, yaw: float, camera: tuple) -> float:
    """Worst corner's distance in px, for the best of all turns of the card on its mould."""
    matrix, distortion, turn, shift = camera
    best = math.inf
    for own in np.arange(-180.0, 180.0, 1.0):
        a = math.radians(yaw + own)
        x, y, z = mould["rim_centre_from_tag_mm"]
        away = np.array([math.cos(a) * x - math.sin(a) * y, math.sin(a) * x + math.cos(a) * y, z])
        corners = square(mould["tag_size_mm"], list(rim - away), yaw + own)
        flat = cv2.projectPoints(corners, turn, shift, matrix, distortion)[0].reshape(4, 2)
        best = min(best, float(np.abs(flat - found[mould["tag_id"]]).max()))
    return best


def test_the_slip_sinks_by_the_water_that_the_wall_gave_up(
    settings: dict, truth: list[dict[str, str]]
) -> None:
    """Book-keeping by hand: drop times open area = f times new cake, walls of bore and floor counted."""
    slip = settings["slip"]
    solids = (slip["specific_gravity"] - 1) / (SOLIDS_GRAVITY - 1)
    share, counted = slip["cake_solids_fraction"] / solids - 1, 0
    for mould in settings["mould"]:
        cast = [row for row in story(truth, mould["name"]) if row["phase"] == "casting"][:12]
        first, last = cast[0], cast[-1]
        if float(last["time_s"]) - float(first["time_s"]) > 260:
            continue  # a top-up lies between them
        drop = float(last["level_mm"]) - float(first["level_mm"])
        open_mm2 = math.pi * ((float(first["free_radius_mm"]) + float(last["free_radius_mm"])) / 2) ** 2
        grown = float(last["wall_mm"]) - float(first["wall_mm"])
        middle = (float(last["wall_mm"]) + float(first["wall_mm"])) / 2
        cake = grown * wetted_mm2(mould["bore"], float(first["level_mm"]), middle)
        assert drop * open_mm2 == pytest.approx(share * cake, rel=0.06), mould["name"]
        counted += 1
    assert counted >= 5


def wetted_mm2(bore: list[list[float]], from_mm: float, cake_mm: float) -> float:
    """Area that the growing cake's face has from a depth down, floor included: cones between the rows."""
    z = np.linspace(from_mm, bore[-1][0], 2000)
    r = np.interp(z, [row[0] for row in bore], [row[1] for row in bore]) / 2
    slant = np.hypot(np.diff(z), np.diff(r))
    inner = (r[:-1] + r[1:]) / 2 - cake_mm
    return float((2 * math.pi * inner * slant).sum() + math.pi * (r[-1] - cake_mm) ** 2)


def test_a_mould_is_ready_when_its_wall_is_what_was_wanted(
    settings: dict, truth: list[dict[str, str]]
) -> None:
    wanted = {mould["name"]: mould["target_wall_mm"] for mould in settings["mould"]}
    ready = [row for row in rows("events.csv") if row["event"] == "ready"]
    assert {row["mould"] for row in ready} == set(wanted)
    for row in ready:
        near = [r for r in story(truth, row["mould"]) if abs(float(r["time_s"]) - float(row["time_s"])) < 22]
        before, after = near[0], near[-1]
        assert float(before["wall_mm"]) <= wanted[row["mould"]] <= float(after["wall_mm"])


def test_the_wall_grows_evenly_in_its_square(truth: list[dict[str, str]]) -> None:
    """The square of a wall is straight in time but for the fading plaster: nearly so, and never faster."""
    cast = [row for row in story(truth, "storage jar") if row["phase"] == "casting"]
    t = np.array([float(row["time_s"]) for row in cast])
    wall = np.array([float(row["wall_mm"]) for row in cast])
    speed = np.diff(wall**2 + 0.3 * wall) / np.diff(t) * 60
    assert speed.max() < 0.45 and speed[-1] == pytest.approx(speed[0], rel=0.2) and speed[-1] < speed[0]
