"""How long to wait before trying again what has failed: pauses that grow, and an end."""

from __future__ import annotations

LETTER_PAUSES_S = (3.0, 5.0, 10.0, 20.0, 30.0, 60.0, 120.0, 300.0)
"""After each failed attempt to send a letter; the last one goes on. The first are short because a mould does
not wait; the last are long enough not to be taken for abuse by a public service. Common practice, no
source."""

MOST_LETTER_TRIES = 40
"""About two and three quarter hours of trying; a cast is over by then. Common practice, no source."""

CAMERA_PAUSES_S = (0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 30.0)
"""After each failed attempt to open a camera: a plug put back is noticed within half a minute at the worst.
Common practice, no source."""


def pause_s(pauses_s: tuple[float, ...], tries: int) -> float:
    """Return how long to wait after this many failed attempts (1 or more). In s."""
    return pauses_s[min(tries, len(pauses_s)) - 1]
