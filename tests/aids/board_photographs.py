"""Ten photographs of the printed lens board, which together are enough for a lens."""

from __future__ import annotations

import numpy as np
from photographed import FlatPage, TrueLens, facing, photograph
from printed_pages import rendered

from watcher.setup.drawing import Paper
from watcher.setup.lens_board import board_page
from watcher.setup.pdf import pdf_bytes

BOARD_LENS = TrueLens(1280, 720, 1060.0, 651.2, 352.7, (-0.12, 0.06, 0.0008, -0.0006, 0.0))
BOARD_POSES = [
    ((0, 0, 0), (0, 0, 400)),
    ((0, 32, 0), (-60, 0, 620)),
    ((0, -32, 0), (60, 10, 620)),
    ((32, 0, 0), (0, 0, 600)),
    ((-32, 0, 0), (0, 0, 600)),
    ((10, 20, 4), (-260, -130, 720)),
    ((10, -20, 0), (255, -115, 790)),
    ((-15, 20, 0), (-265, 125, 780)),
    ((-15, -20, 3), (255, 122, 780)),
    ((0, 5, 90), (0, 0, 900)),
]


def printed_board() -> tuple[np.ndarray, float]:
    """The board's page as pixels, and how many to a millimetre."""
    raster = rendered(pdf_bytes([board_page(Paper.A4)], "test"), 0, 4.0)
    return raster, raster.shape[1] / 297.0


def board_shot(printed: tuple[np.ndarray, float], turned, place, **how) -> np.ndarray:
    """One photograph of it, turned in the camera's frame and put at a place there."""
    raster, px_per_mm = printed
    return photograph(
        BOARD_LENS, [FlatPage(raster, px_per_mm, np.array(place, float), facing(*turned))], **how
    )
