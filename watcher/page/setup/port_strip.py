"""What the page of the survey needs from whoever holds the camera and the files."""

from __future__ import annotations

from typing import Protocol

from watcher.page.port import Picture
from watcher.page.setup.shown import StripShown, Told


class StripDesk(Protocol):
    """Surveying a strip of tags on a wall or shelf."""

    def shown(self) -> StripShown:
        """Return which pictures are kept, and what came of them. Raises `Unfit`."""
        ...

    def look(self) -> StripShown:
        """Keep the camera's picture if it shows the strip from another side. Raises `Unfit`."""
        ...

    def picture(self) -> Picture | None:
        """Return the last picture with its tags drawn in, or with the surveyed ones."""
        ...

    def survey(self, tag_mm: float | None) -> Told:
        """Work out where the strip's tags are, and keep it. Raises `Unfit`."""
        ...

    def forget(self) -> Told:
        """Put the pictures and the survey away; the sheet alone counts again."""
        ...

    def pdf(self, paper: str) -> bytes:
        """Return the strip's tags as a PDF for `a4` or `letter`."""
        ...
