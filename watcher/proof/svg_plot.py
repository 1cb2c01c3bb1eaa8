"""Small plots as SVG text: lines, points, bars and bands over two straight axes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

WIDTH, HEIGHT = 640, 400
LEFT, RIGHT, TOP, BOTTOM = 64, 16, 40, 52
NAMES_ACROSS, NAME_PX = 2, 18
INK, PALE = "#333333", "#d9d9d9"
COLOURS = ("#1f5fa8", "#c4541a", "#3b7d3a", "#7a4a9e", "#8a6d00", "#4d4d4d")

Points = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Curve:
    """One row of points. `marks`: dots at the points; `joined`: a line through them; `dashed`: broken."""

    name: str
    points: Points
    joined: bool = True
    marks: bool = False
    dashed: bool = False
    colour: int | None = None


@dataclass(frozen=True, slots=True)
class Band:
    """A shaded range between two rows of points with the same x."""

    name: str
    low: Points
    high: Points
    colour: int = 0


@dataclass(frozen=True, slots=True)
class Plot:
    """A plot. Ranges are taken from what is drawn where they are None.

    Attributes
    ----------
    title, across, up : str
        Title and axes' names, with units.
    curves, bands : tuple
    x_range, y_range : tuple of float or None
    """

    title: str
    across: str
    up: str
    curves: tuple[Curve, ...] = ()
    bands: tuple[Band, ...] = ()
    x_range: tuple[float, float] | None = None
    y_range: tuple[float, float] | None = None


def svg(plot: Plot) -> str:
    """Draw a plot as one SVG element."""
    xs, ys = _all_points(plot)
    x_axis = _Axis(plot.x_range or _span(xs), LEFT, WIDTH - RIGHT)
    y_axis = _Axis(plot.y_range or _span(ys), HEIGHT - BOTTOM, TOP)
    tall = HEIGHT + NAME_PX * math.ceil(len(_named(plot)) / NAMES_ACROSS)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {tall}" role="img" '
        f'font-family="sans-serif" font-size="12" fill="{INK}">',
        f"<title>{escape(plot.title)}</title>",
        f'<rect width="{WIDTH}" height="{tall}" fill="#ffffff"/>',
        f'<text x="{LEFT}" y="20" font-size="14" font-weight="bold">{escape(plot.title)}</text>',
        *_grid(plot, x_axis, y_axis),
        *(_band(band, x_axis, y_axis) for band in plot.bands),
    ]
    for number, curve in enumerate(plot.curves):
        colour = COLOURS[(number if curve.colour is None else curve.colour) % len(COLOURS)]
        parts += _curve(curve, colour, x_axis, y_axis)
    return "\n".join([*parts, *_names(plot), "</svg>"])


@dataclass(frozen=True, slots=True)
class _Axis:
    span: tuple[float, float]
    start_px: float
    end_px: float

    def px(self, value: float) -> float:
        low, high = self.span
        part = (min(max(value, low), high) - low) / (high - low)
        return self.start_px + part * (self.end_px - self.start_px)

    def marks(self) -> list[float]:
        """Round values along the axis, about six of them."""
        low, high = self.span
        rough = (high - low) / 6.0
        size = 10.0 ** math.floor(math.log10(rough))
        step = next(size * m for m in (1.0, 2.0, 2.5, 5.0, 10.0) if size * m >= rough)
        first = math.ceil(low / step - 1e-9)
        return [n * step for n in range(first, math.floor(high / step + 1e-9) + 1)]


def _all_points(plot: Plot) -> tuple[list[float], list[float]]:
    rows = [curve.points for curve in plot.curves]
    rows += [points for band in plot.bands for points in (band.low, band.high)]
    both = [point for row in rows for point in row if all(map(math.isfinite, point))]
    return [x for x, _ in both], [y for _, y in both]


def _span(values: Sequence[float]) -> tuple[float, float]:
    if not values:
        return 0.0, 1.0
    low, high = min(values), max(values)
    if high - low < 1e-12:
        low, high = low - 0.5, high + 0.5
    room = 0.04 * (high - low)
    return (0.0 if 0.0 <= low < 0.3 * high else low - room), high + room


def _grid(plot: Plot, x_axis: _Axis, y_axis: _Axis) -> list[str]:
    bottom, top, left, right = HEIGHT - BOTTOM, TOP, LEFT, WIDTH - RIGHT
    parts = []
    for x in x_axis.marks():
        at = f"{x_axis.px(x):.1f}"
        parts.append(f'<line x1="{at}" y1="{top}" x2="{at}" y2="{bottom}" stroke="{PALE}"/>')
        parts.append(f'<text x="{at}" y="{bottom + 16}" text-anchor="middle">{x:g}</text>')
    for y in y_axis.marks():
        at = f"{y_axis.px(y):.1f}"
        parts.append(f'<line x1="{left}" y1="{at}" x2="{right}" y2="{at}" stroke="{PALE}"/>')
        parts.append(f'<text x="{left - 6}" y="{at}" dy="4" text-anchor="end">{y:g}</text>')
    parts.append(
        f'<text x="{(left + right) / 2}" y="{HEIGHT - 12}" text-anchor="middle">{escape(plot.across)}</text>'
    )
    middle = (top + bottom) / 2
    parts.append(
        f'<text x="16" y="{middle}" text-anchor="middle" transform="rotate(-90 16 {middle})">'
        f"{escape(plot.up)}</text>"
    )
    return parts


def _curve(curve: Curve, colour: str, x_axis: _Axis, y_axis: _Axis) -> list[str]:
    finite = [point for point in curve.points if all(map(math.isfinite, point))]
    places = [(x_axis.px(x), y_axis.px(y)) for x, y in finite]
    parts = []
    if curve.joined and len(places) > 1:
        path = " ".join(f"{x:.1f},{y:.1f}" for x, y in places)
        dash = ' stroke-dasharray="6 4"' if curve.dashed else ""
        parts.append(f'<polyline points="{path}" fill="none" stroke="{colour}" stroke-width="2"{dash}/>')
    if curve.marks:
        parts += [f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3.2" fill="{colour}"/>' for x, y in places]
    return parts


def _band(band: Band, x_axis: _Axis, y_axis: _Axis) -> str:
    there = [*band.low, *reversed(band.high)]
    path = " ".join(f"{x_axis.px(x):.1f},{y_axis.px(y):.1f}" for x, y in there)
    return f'<polygon points="{path}" fill="{COLOURS[band.colour % len(COLOURS)]}" fill-opacity="0.18"/>'


def _names(plot: Plot) -> list[str]:
    """Name the curves below the axes, each in words and with its own line."""
    parts = []
    for place, (number, curve) in enumerate(_named(plot)):
        colour = COLOURS[(number if curve.colour is None else curve.colour) % len(COLOURS)]
        row, column = divmod(place, NAMES_ACROSS)
        x, y = LEFT + column * (WIDTH - LEFT) / NAMES_ACROSS, HEIGHT + 8 + NAME_PX * row
        dash = ' stroke-dasharray="6 4"' if curve.dashed else ""
        if curve.joined:
            parts.append(
                f'<line x1="{x:.1f}" y1="{y - 4}" x2="{x + 24:.1f}" y2="{y - 4}" stroke="{colour}" '
                f'stroke-width="2"{dash}/>'
            )
        if curve.marks:
            parts.append(f'<circle cx="{x + 12:.1f}" cy="{y - 4}" r="3.2" fill="{colour}"/>')
        parts.append(f'<text x="{x + 30:.1f}" y="{y}">{escape(curve.name)}</text>')
    return parts


def _named(plot: Plot) -> list[tuple[int, Curve]]:
    return [(number, curve) for number, curve in enumerate(plot.curves) if curve.name]
