"""Drawn pictures for the made-up bench: plaster blocks with a hole each. Test data only."""

from __future__ import annotations

import math

import cv2
import numpy as np

WIDE, HIGH = 1280, 720


def rims(count: int):
    """Ellipses over the picture, as (row, col)."""
    across = math.ceil(math.sqrt(count * 16 / 9))
    down = math.ceil(count / across)
    size = 0.3 * min(WIDE / across, HIGH / down)
    found = []
    for i in range(count):
        col, row = (i % across + 0.5) * WIDE / across, (i // across + 0.58) * HIGH / down
        turn = np.linspace(0, 2 * math.pi, 36, endpoint=False)
        found.append(tuple((row + 0.7 * size * math.sin(a), col + size * math.cos(a)) for a in turn))
    return found


def bench_jpeg(count: int) -> bytes:
    """A plain drawn bench: plaster blocks with a hole each."""
    image = np.full((HIGH, WIDE, 3), (96, 112, 124), np.uint8)
    noise = np.random.default_rng(7).normal(0, 3, (HIGH // 8, WIDE // 8, 1))
    image = np.clip(image + cv2.resize(noise, (WIDE, HIGH))[..., None], 0, 255).astype(np.uint8)
    for rim in rims(count):
        points = np.array([[col, row] for row, col in rim], np.int32)
        centre = points.mean(axis=0)
        block = ((points - centre) * 1.55 + centre).astype(np.int32)
        box = cv2.boundingRect(block)
        cv2.rectangle(image, box[:2], (box[0] + box[2], box[1] + box[3]), (205, 218, 224), -1)
        cv2.fillPoly(image, [points], (92, 128, 158), cv2.LINE_AA)
    small = cv2.resize(image, (960, 540), interpolation=cv2.INTER_AREA)
    return bytes(cv2.imencode(".jpg", small, [cv2.IMWRITE_JPEG_QUALITY, 78])[1])


def hole_jpeg() -> bytes:
    image = np.full((320, 320, 3), (205, 218, 224), np.uint8)
    cv2.ellipse(image, (160, 160), (140, 104), 0, 0, 360, (92, 128, 158), -1, cv2.LINE_AA)
    cv2.ellipse(image, (160, 172), (120, 84), 0, 0, 360, (60, 60, 200), 2, cv2.LINE_AA)
    return bytes(cv2.imencode(".jpg", image, [cv2.IMWRITE_JPEG_QUALITY, 80])[1])
