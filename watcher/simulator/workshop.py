"""A workshop's bench of eight household moulds before one camera, with nothing poured yet."""

from __future__ import annotations

import numpy as np

from models.mould import Bore, MouldProfile
from watcher.records.layout import Lens, SheetTag
from watcher.simulator.bench import Seat, SimBench, SimMould
from watcher.simulator.viewing import looking_at

POTS: tuple[tuple[str, Bore, float, float], ...] = (
    # name, bore, target wall, height over the bench
    ("tea cup", ((0, 84), (18, 78), (22, 72), (62, 70), (76, 46)), 3.0, 98.0),
    ("sauce bowl", ((0, 104), (16, 98), (20, 94), (46, 92), (68, 60)), 3.4, 92.0),
    ("pencil pot", ((0, 68), (18, 63), (24, 58), (84, 58), (92, 46)), 2.8, 112.0),
    ("sugar jar", ((0, 78), (20, 72), (27, 66), (60, 86), (92, 68)), 3.2, 112.0),
    ("candle bowl", ((0, 92), (16, 86), (20, 82), (50, 80), (64, 52)), 3.0, 90.0),
    ("beaker", ((0, 74), (18, 68), (24, 64), (80, 62), (94, 52)), 2.6, 110.0),
    ("cream jug", ((0, 64), (18, 58), (26, 54), (56, 76), (86, 60)), 2.8, 106.0),
    ("planter", ((0, 96), (18, 90), (24, 84), (70, 80), (88, 64)), 3.6, 104.0),
)
"""Wide and middling pour holes, as most household pieces have; a bottle's neck is another bench's matter."""

LEAST, MOST = 1, len(POTS)
TAG_MM = 30.0
COLUMN_MM, ROW_MM, FIRST_ROW_MM = 206.0, 206.0, 90.0


def workshop(moulds: int = MOST, *, width_px: int = 1280, height_px: int = 720, seed: int = 1) -> SimBench:
    """Return a bench of 1 to 8 moulds in two rows behind the bench sheet.

    Raises
    ------
    ValueError
        For another number of moulds.
    """
    if not LEAST <= moulds <= MOST:
        raise ValueError(f"a workshop's bench has {LEAST} to {MOST} moulds, not {moulds}")
    rng = np.random.default_rng(seed)
    focal = 0.9 * width_px
    middle = ((width_px - 1) / 2, (height_px - 1) / 2)
    lens = Lens(width_px, height_px, focal, focal, *middle, (-0.06, 0.02, 0.0002, -0.0003, 0.0))
    view = looking_at(lens, (0.0, -620.0, 860.0), (0.0, 150.0, 60.0))
    corners = ((-230.0, -55.0), (-75.0, -55.0), (75.0, -55.0), (230.0, -55.0))
    ids = (400, 401, 402, 403)
    sheet = tuple(SheetTag(i, 60.0, (x, y, 0.0)) for i, (x, y) in zip(ids, corners, strict=True))
    made = []
    for k in range(moulds):
        name, bore, target, height = POTS[k]
        profile = MouldProfile(name, bore, target_wall_mm=(target, 1.1 * target))
        row, column = divmod(k, 4)
        place = (COLUMN_MM * (column - 1.5), FIRST_ROW_MM + ROW_MM * row)
        seat = Seat(place[0], place[1], float(rng.uniform(-5, 5)))
        card = bore[0][1] / 2 + 6.0 + TAG_MM * 0.7
        half = max(bore[0][1] / 2 + 26.0, card + TAG_MM * 0.72)
        made.append(SimMould(profile, (), seat, height, half, False, 410 + k, TAG_MM, (0.0, -card)))
    return SimBench("bench", view, sheet, tuple(made), seed=seed)
