"""A ruler line that stands on every printed page, and what its measured length says about the print."""

from __future__ import annotations

from dataclasses import dataclass

from watcher.setup.drawing import Place, Shape, Stroke, Words

LEAST_SCALE, MOST_SCALE = 0.85, 1.15
"""Prints outside this are another line, another unit or a shrunken page that had better be printed anew
(common practice, no source)."""
WORST_SKEW = 0.004
"""Tags are taken to be square: along and across the page may differ by no more than this share."""
CAREFUL_MM = 0.3
"""How surely a line is measured with a steel ruler (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class PrintScale:
    """Size on the paper over the size drawn, and its standard deviation."""

    factor: float
    sigma: float

    def sentence(self) -> str:
        """Say what the scale means."""
        if abs(self.factor - 1.0) <= 2.0 * self.sigma:
            return "The print is true to size."
        kind = "larger" if self.factor > 1.0 else "smaller"
        return (
            f"The print is {100.0 * abs(self.factor - 1.0):.1f} % {kind} than drawn; this is reckoned with. "
            "Print all cards the same way, or print again at 100 %."
        )


@dataclass(frozen=True, slots=True)
class WrongScale:
    """Why a measured ruler line cannot be used."""

    why: str


def ruler_line(
    start_mm: Place, length_mm: float, *, upright: bool = False, label_at: float | None = 0.5
) -> list[Shape]:
    """Draw a line with end marks and a tick every 10 mm, to the right of `start_mm` or up from it.

    `label_at` is the share of the line at which its length is written; None: nowhere.
    """
    x, y = start_mm

    def at(along: float, aside: float) -> Place:
        return (x + aside, y + along) if upright else (x + along, y + aside)

    shapes: list[Shape] = [Stroke((at(0.0, 0.0), at(length_mm, 0.0)), 0.25)]
    ticks = [10.0 * n for n in range(int(length_mm // 10.0) + 1)]
    for along in ticks:
        shapes.append(Stroke((at(along, -1.0), at(along, 1.0)), 0.2))
    for along in (0.0, length_mm):
        shapes.append(Stroke((at(along, -2.5), at(along, 2.5)), 0.2))
    if label_at is not None:
        place = at(label_at * length_mm, 2.0 if not upright else -2.0)
        text = f"{length_mm:g} mm from end mark to end mark"
        shapes.append(Words(*place, text, 2.8, "middle", 90.0 if upright else 0.0))
    return shapes


def print_scale(
    drawn_mm: float, measured_mm: float, across_mm: float | None = None, drawn_across_mm: float | None = None
) -> PrintScale | WrongScale:
    """Tell the print's scale from the measured length of its ruler line.

    Parameters
    ----------
    drawn_mm, measured_mm : float
        Length as drawn and as measured on the paper, end mark to end mark. [mm]
    across_mm, drawn_across_mm : float or None
        The same of the ruler line that runs the other way. [mm]

    Returns
    -------
    PrintScale or WrongScale
        The scale with its standard deviation, or one sentence on why the measure cannot be right.
    """
    scale = measured_mm / drawn_mm
    if not LEAST_SCALE <= scale <= MOST_SCALE:
        return WrongScale(_absurd(drawn_mm, measured_mm))
    sigma = CAREFUL_MM / drawn_mm
    if across_mm is None or drawn_across_mm is None:
        return PrintScale(scale, sigma)
    across = across_mm / drawn_across_mm
    if not LEAST_SCALE <= across <= MOST_SCALE:
        return WrongScale(_absurd(drawn_across_mm, across_mm))
    spread = (sigma**2 + (CAREFUL_MM / drawn_across_mm) ** 2) ** 0.5
    if abs(across - scale) > max(WORST_SKEW, 2.0 * spread):
        return WrongScale(
            f"the print is {100.0 * scale:.1f} % of its size one way and {100.0 * across:.1f} % the other; "
            "measure both lines again, and if it stays so print with another printer"
        )
    weight = drawn_across_mm**2 / (drawn_mm**2 + drawn_across_mm**2)
    return PrintScale(
        (1.0 - weight) * scale + weight * across, CAREFUL_MM / (drawn_mm**2 + drawn_across_mm**2) ** 0.5
    )


def _absurd(drawn_mm: float, measured_mm: float) -> str:
    head = f"the ruler line is drawn {drawn_mm:g} mm long and was measured as {measured_mm:g}; "
    ratio = measured_mm / drawn_mm
    if abs(ratio * 25.4 - 1.0) < 0.15:
        return head + f"that looks like inches; give millimetres ({measured_mm * 25.4:.1f}?)"
    if abs(ratio * 10.0 - 1.0) < 0.15:
        return head + f"that looks like centimetres; give millimetres ({measured_mm * 10.0:.1f}?)"
    if 0.4 < ratio < LEAST_SCALE or MOST_SCALE < ratio < 2.5:
        return head + "print again at 100 % (actual size, not 'fit to page') and measure once more"
    return head + "measure from end mark to end mark, in mm"
