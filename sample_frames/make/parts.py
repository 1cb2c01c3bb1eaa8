"""Parts of many different benches from seeds: moulds, where they stand, lenses, lights."""

from __future__ import annotations

import numpy as np
from casting import Cast, Cavity, Mould, Slip, run_mould
from optics import Lens, Pose
from story import Light, MouldPart

NAMES = (
    "egg cup",
    "oil cruet",
    "porridge bowl",
    "butter dish",
    "tall cup",
    "sugar caddy",
    "soap dish",
    "ink well",
    "utensil pot",
    "pepper mill",
    "water pitcher",
    "candle cup",
    "honey jar",
    "tea bowl",
    "side pot",
    "flower brick",
    "gravy boat",
    "storage jar",
    "brush pot",
    "herb pot",
    "espresso cup",
    "decanter",
    "pickle crock",
    "pen pot",
    "spice jar",
    "rice bowl",
    "flask",
    "window pot",
)
CLAYS = {
    "cream": (0.66, 0.56, 0.42),
    "white": (0.80, 0.79, 0.76),
    "red": (0.36, 0.13, 0.07),
    "grey": (0.15, 0.145, 0.14),
    "buff": (0.55, 0.40, 0.24),
    "pink": (0.66, 0.47, 0.40),
    "brown": (0.20, 0.10, 0.06),
    "black": (0.05, 0.045, 0.042),
}
SIZES = {"vga": (640, 480), "svga": (800, 600), "hd": (1280, 720), "fhd": (1920, 1080)}


def cavity(rng: np.random.Generator, top: float) -> Cavity:
    """Return a cavity whose pour hole measures `top` across."""

    def r1(pairs):
        return tuple((round(float(a), 1), round(float(b), 1)) for a, b in pairs)

    spare = rng.uniform(16, 26)
    taper = top * rng.uniform(0.04, 0.13)
    if top < 48:  # bottle or vase: narrow neck, wide body
        neck = top - taper
        trim = spare + rng.uniform(2, 30)
        body, deep = top * rng.uniform(1.5, 2.1), rng.uniform(60, 100)
        z = [0, spare, trim, trim + rng.uniform(18, 30)]
        d = [top, neck, neck * rng.uniform(0.86, 1.0), body]
        z += [z[-1] + deep * 0.6, z[-1] + deep]
        d += [body * rng.uniform(0.95, 1.08), body * rng.uniform(0.6, 0.8)]
        return Cavity(r1(zip(z, d, strict=True)), round(trim, 1))
    ledge = rng.uniform(3, 7)
    inner = (top - taper) * rng.uniform(0.90, 0.98)
    deep = rng.uniform(40, 70) if rng.random() < 0.4 else rng.uniform(65, 100)
    bulge = rng.uniform(0.95, 1.22)
    z = [
        0,
        spare,
        spare + ledge,
        spare + ledge + deep * 0.5,
        spare + ledge + deep * 0.85,
        spare + ledge + deep,
    ]
    d = [
        top,
        top - taper,
        inner,
        inner * bulge,
        inner * rng.uniform(0.85, 1.0),
        inner * rng.uniform(0.55, 0.8),
    ]
    return Cavity(r1(zip(z, d, strict=True)), round(z[2], 1))


def seat_card(rng, shape: str, inside: Cavity, tag_mm: float, hole, top_round: float, half: float):
    """Half size of the block, place and yaw of its card: clear of the pour hole and of the block's edges."""
    paper = tag_mm * 1.32
    yaw = float(rng.choice([0, 0, 0, 90, 12, -7]))
    reach = paper / 2 * (abs(np.cos(np.radians(yaw))) + abs(np.sin(np.radians(yaw))))
    clear = inside.bore[0][1] / 2 + 5.5
    if shape == "round":
        a = np.radians(float(rng.choice([-90, -45, -135, -90])))
        far = clear + (reach if abs(np.cos(a)) < 0.1 else paper * 0.71)
        half = max(half, far + paper * 0.71 + top_round)
        return half, (far * np.cos(a), far * np.sin(a)), yaw
    sx, sy = [(1, -1), (-1, -1), (1, -1), (-1, -1), (1, 1), (-1, 1)][int(rng.integers(6))]
    while True:
        at = np.array([sx, sy]) * (half * 0.92 - top_round - reach)
        near = np.maximum(np.abs(at - hole) - reach, 0)
        if np.hypot(*near) > clear:
            return half, (float(at[0]), float(at[1])), yaw
        half += 2.0


def mould(
    rng,
    name: str,
    tag_id: int,
    tag_mm: float,
    top: float,
    clean: bool = False,
    inside: Cavity | None = None,
    shape: str = "",
) -> MouldPart:
    """Return a mould around a cavity, without place or casts."""
    inside = inside or cavity(rng, top)
    shape = shape or ("round" if rng.random() < 0.4 else "box")
    widest = max(d for _, d in inside.bore)
    half = widest / 2 + rng.uniform(24, 34)
    slack = 0.0 if shape == "round" else 5.0
    hole = (rng.uniform(-slack, slack), rng.uniform(0, slack)) if slack > 0 else (0.0, 0.0)
    top_round = float(rng.uniform(3, 8))
    half, card, yaw = seat_card(rng, shape, inside, tag_mm, np.array(hole), top_round, half)
    sizes, corner = (
        ((half, half), half - 0.01)
        if shape == "round"
        else ((half, half * rng.uniform(0.93, 1.07)), rng.uniform(6, 14))
    )
    straps = (
        (0.02, 0.02, 0.02),
        (0.35, 0.03, 0.03),
        (0.03, 0.12, 0.06),
        (0.2, 0.14, 0.08),
        (0.03, 0.06, 0.25),
    )
    return MouldPart(
        name,
        tag_id,
        tag_mm,
        inside,
        round(rng.uniform(2.0, 3.4), 1),
        tuple(map(float, sizes)),
        float(inside.floor_mm + rng.uniform(22, 34)),
        float(corner),
        tuple(map(float, hole)),
        tuple(float(round(c, 2)) for c in card),
        yaw,
        (),
        (),
        name[:2].upper(),
        straps[int(rng.integers(5))],
        float(rng.choice([0, 90])) if rng.random() < 0.8 else None,
        float(rng.uniform(0.74, 0.88)),
        round(float(rng.uniform(0.6, 2.2)), 1),
        top_round,
        int(rng.integers(0, 4 if clean else 12)),
        bool(rng.random() < (0.1 if clean else 0.4)),
        int(rng.integers(1 << 30)),
    )


def settle(
    rng, parts: list[MouldPart], pose: Pose, lens: Lens, sheet_half
) -> list[tuple[float, float, float]] | None:
    """Find places (x, y, yaw): apart, in the picture, none before another's hole; None if there are none."""
    placed: list[tuple[float, float, float]] = []
    eye = np.array(pose.eye)
    for part in parts:
        for _ in range(600):
            x, y, yaw = rng.uniform(-360, 360), rng.uniform(-60, 360), rng.uniform(-12, 12)
            if fits(part, (x, y), parts, placed, eye, pose, lens, sheet_half):
                placed.append((round(x, 1), round(y, 1), round(yaw, 1)))
                break
        else:
            return None
    return placed


def circle(x, y, z, r, n=24):
    """Points on a level circle."""
    a = np.arange(n) * 2 * np.pi / n
    return np.stack([x + r * np.cos(a), y + r * np.sin(a), np.full(n, z)], axis=1)


def hides(a: np.ndarray, eye: np.ndarray, xy, reach: float, height: float) -> bool:
    """Return true when a post of that reach and height stands between the points and the eye."""
    t = np.linspace(0.01, 0.9, 60)[:, None, None]
    line = a[None] + t * (eye - a)[None]
    inside = np.hypot(line[..., 0] - xy[0], line[..., 1] - xy[1]) < reach
    return bool((inside & (line[..., 2] < height)).any())


def fits(part, xy, parts, placed, eye, pose, lens, sheet_half) -> bool:
    """Whether a mould may stand there."""
    reach = max(part.half) * (1.0 if part.corner > 20 else 1.25)
    if abs(xy[0]) < sheet_half[0] + reach and abs(xy[1]) < sheet_half[1] + reach:
        return False
    around = np.concatenate(
        [circle(*xy, part.height, reach), circle(*xy, part.height, part.cavity.bore[0][1] / 2 + 4)]
    )
    px = pose.project(lens, around)
    margin = lens.width * 0.012
    if (
        (px < margin).any()
        or (px[:, 0] > lens.width - margin).any()
        or (px[:, 1] > lens.height - margin).any()
    ):
        return False
    top = circle(*xy, part.height, reach * 0.95)
    corners = np.array([[sx * sheet_half[0], sy * sheet_half[1], 0] for sx in (-1, 1) for sy in (-1, 1)])
    if hides(corners, eye, xy, reach, part.height):
        return False
    for other, (ox, oy, _) in zip(parts, placed, strict=False):
        far = max(other.half) * (1.0 if other.corner > 20 else 1.25)
        if np.hypot(xy[0] - ox, xy[1] - oy) < reach + far + 8:
            return False
        if hides(top, eye, (ox, oy), far, other.height):
            return False
        if hides(circle(ox, oy, other.height, far * 0.95), eye, xy, reach, part.height):
            return False
    return True


def ready_time(part: MouldPart, slip: Slip, cast: Cast) -> float:
    """When this cast will be ready (up to an hour and a half after filling)."""
    for span in (900, 2700, 5400):
        run = run_mould(Mould(part.cavity, slip, part.target_mm), [cast], cast.filled_s + span)
        found = [t for t, what in run.events if what == "ready"]
        if found:
            return found[0]
    return cast.filled_s + 5400


def lens_of(size: str, rng) -> Lens:
    """Return a lens for a picture size."""
    w, h = SIZES[size]
    f = w * rng.uniform(0.80, 1.02)
    k1 = rng.uniform(-0.16, 0.06)
    d = (k1, -0.35 * k1, rng.uniform(-6e-4, 6e-4), rng.uniform(-6e-4, 6e-4), 0.0)
    return Lens(
        w,
        h,
        round(f, 1),
        round((w - 1) / 2 + rng.normal() * w * 0.004, 1),
        round((h - 1) / 2 + rng.normal() * w * 0.004, 1),
        tuple(round(float(v), 5) for v in d),
    )


def light_of(kind: str, rng) -> Light:
    """Return a light by its name."""
    side = rng.choice([-1, 1])
    window = ((side * 1100.0, 700.0, 1150.0), (900.0, 1100.0))
    if kind == "front window":
        window = ((side * 700.0, -1300.0, 1300.0), (1200.0, 1000.0))
    if kind == "back window":
        window = ((side * 250.0, 1500.0, 1750.0), (1500.0, 800.0))
    day = np.array([1.0, 1.02, 1.06]) * 6.0
    room = (0.30, 0.30, 0.30)
    if kind == "dim":
        return Light(*window, tuple(day * 0.35), (0.10, 0.095, 0.09))
    if kind in ("lamp", "lamp switched"):
        at = (side * rng.uniform(150, 420), rng.uniform(50, 420), rng.uniform(750, 1000))
        return Light(*window, tuple(day * 0.4), (0.12, 0.115, 0.11), at, (95.0, 74.0, 50.0), ((0.0, 1e9),))
    if kind == "sun":
        x = rng.uniform(-250, 150)
        return Light(
            *window,
            tuple(day),
            room,
            sun=(7.0, 6.4, 5.4),
            sun_path=((0, x, 150), (3000, x + 420, 190)),
            sun_size=(130.0, 340.0),
        )
    return Light(*window, tuple(day), room, cloud=rng.uniform(0, 0.08))
