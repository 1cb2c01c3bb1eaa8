"""Textures: bench tops, plaster with its splashes and pencil marks, printed tags. All linear RGB, float32."""

from __future__ import annotations

import cv2
import numpy as np

DICTIONARY = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11)
TOP_PX_PER_MM = 5.0  # a mould's top texture spans 400 mm


def clouds(rng: np.random.Generator, h: int, w: int, cell: int, octaves: int = 4) -> np.ndarray:
    """Smooth random field of about unit spread."""
    total = np.zeros((h, w), np.float32)
    for k in range(octaves):
        step = max(2, cell >> k)
        small = rng.standard_normal((h // step + 3, w // step + 3)).astype(np.float32)
        total += cv2.resize(small, (w, h), interpolation=cv2.INTER_CUBIC) * 0.6**k
    return total / total.std()


def tinted(colour, field: np.ndarray) -> np.ndarray:
    """Return a colour scaled by a field around 1."""
    return np.clip(np.asarray(colour, np.float32) * field[..., None], 0.005, 0.95).astype(np.float32)


def bench_top(kind: str, rng: np.random.Generator) -> np.ndarray:
    """Return a bench surface seen from above (2048 x 2048 for 2 x 2 m)."""
    n = 2048
    if kind == "ply":
        grain = clouds(rng, n, n, 256, 5)
        rings = np.sin(
            grain * 2.0 + cv2.resize(rng.standard_normal((n // 4, 8)).astype(np.float32), (n, n)) * 3.0
        )
        return tinted((0.50, 0.34, 0.19), 1 + 0.10 * rings + 0.05 * clouds(rng, n, n, 8, 2))
    if kind == "oak":
        streak = cv2.resize(
            rng.standard_normal((n, 24)).astype(np.float32), (n, n), interpolation=cv2.INTER_CUBIC
        )
        boards = np.repeat(rng.uniform(0.85, 1.12, n // 128), 128).astype(np.float32)[:, None]
        return tinted((0.36, 0.22, 0.12), boards * (1 + 0.10 * streak + 0.04 * clouds(rng, n, n, 4, 2)))
    if kind == "slate":
        return tinted((0.12, 0.13, 0.14), 1 + 0.12 * clouds(rng, n, n, 64) + 0.08 * clouds(rng, n, n, 4, 1))
    if kind == "steel":
        brush = cv2.resize(
            rng.standard_normal((n, 16)).astype(np.float32), (n, n), interpolation=cv2.INTER_LINEAR
        )
        return tinted((0.42, 0.43, 0.44), 1 + 0.03 * brush + 0.04 * clouds(rng, n, n, 200))
    if kind == "canvas":
        y, x = np.mgrid[0:n, 0:n].astype(np.float32)
        weave = np.sin(x * 1.6) * np.sin(y * 1.6)
        return tinted((0.48, 0.43, 0.35), 1 + 0.08 * weave + 0.08 * clouds(rng, n, n, 128))
    if kind == "tiles":
        field = 1 + 0.03 * clouds(rng, n, n, 128)
        field[np.arange(n) % 150 < 4] *= 0.55
        field[:, np.arange(n) % 150 < 4] *= 0.55
        return tinted((0.55, 0.57, 0.52), field)
    speck = (rng.random((n, n)) < 0.02).astype(np.float32)
    return tinted(
        (0.16, 0.27, 0.33), 1 + 0.05 * clouds(rng, n, n, 100) + 0.5 * cv2.GaussianBlur(speck, (0, 0), 1.2)
    )


def plaster(rng: np.random.Generator, n: int, tone: float) -> np.ndarray:
    """Plain plaster, faintly mottled."""
    base = np.array([1.0, 0.985, 0.955]) * tone
    return tinted(base, 1 + 0.018 * clouds(rng, n, n, 160) + 0.010 * clouds(rng, n, n, 8, 2))


def pencil(canvas: np.ndarray, text: str, at, size: float, thick: int, strength: float) -> np.ndarray:
    """Write on a texture whose row 0 is the upper edge."""
    ink = np.zeros(canvas.shape[:2], np.uint8)
    cv2.putText(ink, text, at, cv2.FONT_HERSHEY_SIMPLEX, size, 255, thick, cv2.LINE_AA)
    cover = (ink.astype(np.float32) / 255 * strength)[..., None]
    return canvas * (1 - cover) + 0.12 * cover


def blot(canvas: np.ndarray, rng, centre, size, colour, strength=1.0) -> None:
    """One ragged spot of dried slip, in pixels of the canvas."""
    k = int(3 * size + 4)
    x0, y0 = int(centre[0]) - k, int(centre[1]) - k
    if x0 < 0 or y0 < 0 or x0 + 2 * k > canvas.shape[1] or y0 + 2 * k > canvas.shape[0]:
        return
    y, x = np.mgrid[-k:k, -k:k].astype(np.float32)
    a = np.arctan2(y, x)
    edge = size * (1 + sum(rng.normal() * 0.13 * np.cos(j * a + rng.uniform(0, 7)) for j in (1, 2, 3, 4, 5)))
    cover = np.clip((edge - np.hypot(x, y * rng.uniform(0.7, 1.4))) / 1.5 + 0.5, 0, 1)[..., None] * strength
    part = canvas[y0 : y0 + 2 * k, x0 : x0 + 2 * k]
    part[:] = part * (1 - cover) + np.asarray(colour, np.float32) * cover


def top_pixel(xy) -> np.ndarray:
    """Pixel of a point of the mould's top (mm from its middle)."""
    return (np.asarray(xy, float) + 200.0) * TOP_PX_PER_MM


def mould_top(rng, tone, seam_deg, hole_xy, letters) -> np.ndarray:
    """Top of a mould: plaster, the line where its halves meet, a pencilled mark. Row 0 is y = -200 mm."""
    n = int(400 * TOP_PX_PER_MM)
    canvas = plaster(rng, n, tone)
    if seam_deg is not None:
        c = top_pixel(hole_xy)
        d = np.array([np.cos(np.radians(seam_deg)), np.sin(np.radians(seam_deg))]) * 1000
        cv2.line(
            canvas,
            tuple(np.int32(c - d)),
            tuple(np.int32(c + d)),
            [float(v) for v in canvas.mean((0, 1)) * 0.45],
            2,
            cv2.LINE_AA,
        )
    if letters:
        at = top_pixel(letters[1])
        canvas = pencil(canvas[::-1], letters[0], (int(at[0]), int(n - at[1])), 1.7, 4, 0.55)[::-1]
    return canvas


def splashed(top: np.ndarray, rng, hole_xy, radius, colour, count, spill: bool) -> np.ndarray:
    """Return the same top after a fill: drips near the hole, perhaps a spill over the rim."""
    canvas = top.copy()
    for _ in range(count):
        a, far = rng.uniform(0, 2 * np.pi), radius * rng.uniform(1.05, 1.55) + 1
        at = top_pixel(np.add(hole_xy, (far * np.cos(a), far * np.sin(a))))
        blot(canvas, rng, at, rng.uniform(2, 8), colour, rng.uniform(0.75, 1.0))
    if spill:
        a = rng.uniform(0, 2 * np.pi)
        for t in np.linspace(-0.5, 0.5, 14):
            far = radius + rng.uniform(-0.5, 1.5)
            at = top_pixel(np.add(hole_xy, (far * np.cos(a + t), far * np.sin(a + t))))
            blot(canvas, rng, at, rng.uniform(6, 13), colour, 0.95)
    return canvas


def mould_side(rng, tone, colour, drips: int) -> np.ndarray:
    """Side of a mould with dried runs of slip."""
    n = 1024
    canvas = plaster(rng, n, tone)
    for _ in range(drips):
        x, length, wide = int(rng.uniform(20, n - 20)), int(rng.uniform(30, 220)), int(rng.uniform(3, 8))
        cv2.line(
            canvas, (x, 0), (x + int(rng.normal() * 3), length), [float(c) for c in colour], wide, cv2.LINE_AA
        )
    return canvas


def printed(tag_id: int, size_mm: float, paper_mm: tuple[float, float], px_per_mm: float) -> np.ndarray:
    """Return a paper with one tag in its middle. Row 0 is the paper's lower edge."""
    w, h = (round(s * px_per_mm) for s in paper_mm)
    canvas = np.full((h, w, 3), (0.80, 0.80, 0.79), np.float32)
    place_tag(canvas, tag_id, size_mm, (w / 2, h / 2), px_per_mm)
    return canvas[::-1].copy()


def place_tag(canvas: np.ndarray, tag_id: int, size_mm: float, centre_px, px_per_mm: float) -> None:
    """Print a tag upright (row 0 = upper edge), its middle at `centre_px` (x, y; corners at integers)."""
    cells = cv2.aruco.generateImageMarker(DICTIONARY, tag_id, 8).astype(np.float32) / 255
    side = round(size_mm * px_per_mm)
    ink = cv2.resize(cells, (side, side), interpolation=cv2.INTER_NEAREST)
    x0, y0 = round(centre_px[0] - side / 2), round(centre_px[1] - side / 2)
    canvas[y0 : y0 + side, x0 : x0 + side] = (0.035 + ink * 0.765)[..., None]


def bench_sheet(tags, half_mm: tuple[float, float]) -> np.ndarray:
    """Return the bench sheet: `tags` = (id, size, (x, y)) about its middle. Row 0 is its lower edge."""
    px = 8.0
    w, h = int(2 * half_mm[0] * px), int(2 * half_mm[1] * px)
    canvas = np.full((h, w, 3), (0.80, 0.80, 0.79), np.float32)
    for tag_id, size, (x, y) in tags:
        place_tag(canvas, tag_id, size, ((x + half_mm[0]) * px, (half_mm[1] - y) * px), px)
    canvas = pencil(canvas, "bench sheet", (int(w * 0.40), int(h * 0.52)), 1.2, 2, 0.7)
    return canvas[::-1].copy()


def clay_skin(rng, colour, streaky: float) -> np.ndarray:
    """Colour of slip or of the film it left, with faint streaks."""
    n = 512
    streak = cv2.resize(
        rng.standard_normal((6, 96)).astype(np.float32), (n, n), interpolation=cv2.INTER_CUBIC
    )
    return tinted(colour, 1 + streaky * streak + 0.012 * clouds(rng, n, n, 32))
