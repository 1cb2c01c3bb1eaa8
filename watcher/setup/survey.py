"""Where tags on a wall or shelf are, from a few pictures that show them together with the bench sheet."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.optimize import least_squares

from watcher.records.layout import Point3, SheetTag
from watcher.setup.bundle import Bundle, spread_of
from watcher.setup.survey_start import Placed, first_guess

Array = npt.NDArray[np.float64]
Sighted = Mapping[int, Array]
"""Straightened corners (4, 2) by tag, as the eyes measure them in one picture."""

NOISE_PX = 0.10
"""Scatter of measured corners in sharp pictures, taken where they tell less (as on rendered ones)."""
WORST_FIT_PX = 1.0
MOVED_TIMES, MOVED_PX = 5.0, 0.8


@dataclass(frozen=True, slots=True)
class SurveyedTag:
    """A tag's place with the standard deviations along its worst direction and about its worst axis."""

    tag: SheetTag
    sigma_mm: float
    sigma_deg: float


@dataclass(frozen=True, slots=True)
class Surveyed:
    """What a survey found. `fit_px`: scatter of all corners; `pictures`: how many were used."""

    tags: tuple[SurveyedTag, ...]
    fit_px: float
    pictures: int


@dataclass(frozen=True, slots=True)
class NoSurvey:
    """Why the pictures give no survey: one sentence."""

    why: str


def survey(
    pictures: Sequence[Sighted], known: Sequence[SheetTag], sizes_mm: Mapping[int, float], focal_px: float
) -> Surveyed | NoSurvey:
    """Find the places of tags from pictures taken from several sides.

    Parameters
    ----------
    pictures : sequence of mapping of int to ndarray (4, 2)
        Straightened corners by tag; each picture must show two tags or more.
    known : sequence of SheetTag
        Tags whose places are given: the bench sheet, or one tag that makes the frame.
    sizes_mm : mapping of int to float
        Sides of the tags to be surveyed. [mm]
    focal_px : float
        What one unit of the straightened plane is worth, in px.

    Returns
    -------
    Surveyed or NoSurvey

    Notes
    -----
    All cameras and tags are fitted at once to all corners (bundle adjustment), with one number for how far
    blur makes tags look too small. The print's own scale is not in the spread.
    """
    given = {tag.tag_id for tag in known}
    wanted = set(sizes_mm) - given
    useful = [{t: c for t, c in one.items() if t in given | wanted} for one in pictures]
    start = first_guess([one for one in useful if one], known, {t: sizes_mm[t] for t in wanted}, focal_px)
    why = _cannot_begin(start, wanted)
    if why:
        return NoSurvey(why)
    bundle = Bundle.of(start, known, {t: sizes_mm[t] for t in wanted}, focal_px)
    found = least_squares(bundle.away, bundle.begin(), loss="soft_l1", f_scale=3.0 * NOISE_PX, x_scale="jac")
    away = bundle.away(found.x)
    moved = _moved(bundle, away)
    if moved:
        return NoSurvey(moved)
    fit_px = bundle.scatter_px(away)
    if fit_px > WORST_FIT_PX:
        return NoSurvey(
            f"the tags' corners scatter by {fit_px:.1f} px about the best places ({WORST_FIT_PX:g} at most); "
            "are all tags flat, of the size given, and was nothing moved between the pictures?"
        )
    covariance = spread_of(np.asarray(found.jac, dtype=np.float64), max(fit_px, NOISE_PX))
    tags = tuple(_surveyed(bundle, found.x, covariance, tag, sizes_mm[tag]) for tag in sorted(wanted))
    return Surveyed(tags, fit_px, len(start.cameras))


def fixed_turns_deg(rotation: Array) -> Point3:
    """Return the turns about x, then y, then z (fixed axes) that make a rotation matrix, in degrees."""
    sine = float(np.clip(-rotation[2, 0], -1.0, 1.0))
    y = math.asin(sine)
    if abs(sine) > 1.0 - 1e-9:
        return 0.0, math.degrees(y), math.degrees(math.atan2(-rotation[0, 1], rotation[1, 1]))
    x = math.atan2(float(rotation[2, 1]), float(rotation[2, 2]))
    z = math.atan2(float(rotation[1, 0]), float(rotation[0, 0]))
    return math.degrees(x), math.degrees(y), math.degrees(z)


def _cannot_begin(start: Placed, wanted: set[int]) -> str:
    if not start.cameras:
        return "no picture shows the bench sheet; take pictures that show it together with the other tags"
    lost = sorted(wanted - set(start.tags))
    if lost:
        named = ", ".join(str(tag) for tag in lost)
        return (
            f"tag {named} is in no picture together with tags whose place is known; take one that shows both"
        )
    if len(start.cameras) < 2:
        return "only one picture can be used; take three or more, from different sides"
    return ""


def _moved(bundle: Bundle, away: Array) -> str:
    """Name a tag that fits all pictures but one."""
    each = bundle.scatter_of_each(away)
    middle = max(float(np.median([scatter for _, _, scatter in each])), NOISE_PX)
    picture, tag, worst = max(each, key=lambda one: one[2])
    if worst > max(MOVED_TIMES * middle, MOVED_PX):
        return (
            f"tag {tag} does not fit in picture {picture + 1} (by {worst:.1f} px); was it moved, or is the "
            "picture blurred? Take that picture again"
        )
    return ""


def _surveyed(bundle: Bundle, solved: Array, covariance: Array, tag: int, size_mm: float) -> SurveyedTag:
    rotation, centre, at = bundle.tag_pose(solved, tag)
    block = covariance[at : at + 6, at : at + 6]
    turn_sigma = math.degrees(float(np.sqrt(np.linalg.eigvalsh(block[:3, :3])[-1])))
    place_sigma = float(np.sqrt(np.linalg.eigvalsh(block[3:, 3:])[-1]))
    place = (float(centre[0]), float(centre[1]), float(centre[2]))
    return SurveyedTag(
        SheetTag(tag, size_mm, place, rotation_deg=fixed_turns_deg(rotation)), place_sigma, turn_sigma
    )
