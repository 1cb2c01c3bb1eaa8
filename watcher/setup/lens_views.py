"""Take in pictures of the lens board one by one, keep the sharp and new ones, say what is still missing."""

from __future__ import annotations

from dataclasses import dataclass, replace

from watcher.records.frames import Image
from watcher.setup.board_view import BoardView, NoView, moved_px, see_board
from watcher.setup.coverage import Coverage, Stance, coverage, is_new, stance
from watcher.setup.lens_board import LensBoard

STILL_PX = 1.5
"""A board that moved less than this between two pictures is held still."""
MOST_VIEWS = 60


@dataclass(frozen=True, slots=True)
class LensViews:
    """The views kept so far; `last` is the newest one seen, kept or not, `said` what to tell about it."""

    board: LensBoard
    views: tuple[BoardView, ...] = ()
    stances: tuple[Stance, ...] = ()
    last: BoardView | None = None
    said: str = ""

    @property
    def covered(self) -> Coverage:
        """What the kept views cover."""
        return coverage(self.views, self.stances)


def take_in(so_far: LensViews, image: Image, name: str, *, live: bool) -> LensViews:
    """Judge one picture and keep it when it is sharp and new.

    Parameters
    ----------
    so_far : LensViews
    image : ndarray of uint8, shape (rows, cols, 3)
    name : str
    live : bool
        Pictures of a running camera: the board must also be held still since the picture before.
    """
    view = see_board(image, so_far.board, name)
    if isinstance(view, NoView):
        return replace(so_far, last=None, said=view.why)
    moving = live and (so_far.last is None or moved_px(so_far.last, view) > STILL_PX)
    seen = replace(so_far, last=view)
    if moving:
        return replace(seen, said="hold the board still")
    now = stance(view, so_far.board)
    if not is_new(now, so_far.stances) or len(so_far.views) >= MOST_VIEWS:
        return replace(seen, said="this view is there already; move or tilt the board")
    return replace(
        seen,
        views=(*so_far.views, view),
        stances=(*so_far.stances, now),
        said=f"kept view {len(so_far.views) + 1}",
    )
