"""What every camera is to the rest: something that is asked for its newest picture, and closed."""

from __future__ import annotations

from typing import Protocol

from watcher.records.frames import Frame, NoFrame


class FrameSource(Protocol):
    """A camera. Losing it is an answer, never an exception; it comes back by itself."""

    def newest(self) -> Frame | NoFrame:
        """Return the newest picture, stamped when it was grabbed, or why there is none. Never waits.

        The same frame comes again until there is a newer one: compare `taken_s`.
        """
        ...

    def close(self) -> None:
        """Let go of the camera. Twice is fine."""
        ...
