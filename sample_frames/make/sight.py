"""How much of the slip's edge the camera can see: past the rim, the clay above it, other moulds and hands."""

from __future__ import annotations

import numpy as np
from casting import CELL_MM, Moment
from hands import blocks, hand_turn
from story import HandPass, MouldPart, Place, Session

EDGE_POINTS = 120


def edge_points(part: MouldPart, place: Place, moment: Moment, up=(0.0, 0.0, 1.0)) -> np.ndarray:
    """Points of the liquid's edge in the bench frame; `up` tilts it."""
    a = np.arange(EDGE_POINTS) * 2 * np.pi / EDGE_POINTS
    r = moment.free_radius_mm
    z = part.height - moment.level_mm - r * (up[0] * np.cos(a) + up[1] * np.sin(a)) / up[2]
    return np.stack([place.x + r * np.cos(a), place.y + r * np.sin(a), z], axis=1)


def opening(part: MouldPart, moment: Moment, depths: np.ndarray) -> np.ndarray:
    """Radius that is open at each depth above the slip."""
    z = np.arange(len(moment.cake_mm)) * CELL_MM + CELL_MM / 2
    cake = np.where(depths > moment.mark_mm, np.interp(depths, z, np.maximum(moment.cake_mm, 0.12)), 0.0)
    bare = part.cavity.radius(np.maximum(depths, part.rim_round))
    lift = np.clip(1 - depths / part.rim_round, 0, 1)
    return bare - cake + part.rim_round * (1 - np.sqrt(1 - lift**2))


def past_the_rim(
    part: MouldPart, place: Place, moment: Moment, points: np.ndarray, eye: np.ndarray
) -> np.ndarray:
    """Which points are seen past the near rim and wall."""
    depths = np.linspace(moment.level_mm, 0.0, 80)[1:]
    share = (part.height - depths - points[:, 2:]) / (eye[2] - points[:, 2:])
    xy = points[:, None, :2] + np.maximum(share, 0)[..., None] * (eye[:2] - points[:, :2])[:, None, :]
    off = np.hypot(xy[..., 0] - place.x, xy[..., 1] - place.y)
    return np.all(off <= opening(part, moment, depths) + 0.03, axis=1)


def behind_others(
    session: Session, part: MouldPart, time_s: float, points: np.ndarray, eye: np.ndarray
) -> np.ndarray:
    """Which points are hidden by another mould (taken as its box)."""
    hidden = np.zeros(len(points), bool)
    for other in session.moulds:
        place = other.place_at(time_s)
        if other.name == part.name or place.state == "out":
            continue
        c, s = np.cos(np.radians(place.yaw_deg)), np.sin(np.radians(place.yaw_deg))
        turn = np.array([[c, s], [-s, c]])
        middle = np.array(other.hole_xy)
        a = (points[:, :2] - (place.x, place.y)) @ turn.T + middle
        b = (eye[:2] - (place.x, place.y)) @ turn.T + middle
        d = np.c_[b - a, eye[2] - points[:, 2]]
        start = np.c_[a, points[:, 2]]
        low, high = np.array([-other.half[0], -other.half[1], 0]), np.array([*other.half, other.height])
        with np.errstate(divide="ignore"):
            t1, t2 = (low - start) / d, (high - start) / d
        enter, leave = np.minimum(t1, t2).max(axis=1), np.maximum(t1, t2).min(axis=1)
        hidden |= (enter < leave) & (leave > 0) & (enter < 1)
    return hidden


def seen_share(
    session: Session, part: MouldPart, moment: Moment, time_s: float, hands: list[HandPass]
) -> tuple[float, float]:
    """Share of the liquid's edge in view, and the share that hands hide of what would be in view."""
    place, pose = part.place_at(time_s), session.pose_at(time_s)
    if (
        moment.level_mm is None
        or moment.free_radius_mm is None
        or place.state != "in"
        or moment.free_radius_mm < 0.5
    ):
        return 0.0, 0.0
    eye = np.array(pose.eye)
    points = edge_points(part, place, moment, session.up)
    open_ = past_the_rim(part, place, moment, points, eye)
    open_ &= ~behind_others(session, part, time_s, points, eye)
    xy = pose.project(session.lens, points)
    open_ &= (
        (xy[:, 0] > 0)
        & (xy[:, 1] > 0)
        & (xy[:, 0] < session.lens.width - 1)
        & (xy[:, 1] < session.lens.height - 1)
    )
    covered = np.zeros(len(points), bool)
    for hand in hands:
        covered |= blocks(eye, points, hand.over, hand_turn(hand.yaw_deg, hand.pitch_deg))
    before = open_.mean()
    lost = float((open_ & covered).mean() / before) if before > 0 else 0.0
    return float((open_ & ~covered).mean()), lost


def hand_over_hole(session: Session, part: MouldPart, time_s: float, hands: list[HandPass]) -> bool:
    """Return true when a hand hides any of the rim."""
    place = part.place_at(time_s)
    if place.state != "in" or not hands:
        return False
    a = np.arange(48) * 2 * np.pi / 48
    r = part.cavity.bore[0][1] / 2
    rim = np.stack([place.x + r * np.cos(a), place.y + r * np.sin(a), np.full_like(a, part.height)], axis=1)
    eye = np.array(session.pose_at(time_s).eye)
    return any(bool(blocks(eye, rim, h.over, hand_turn(h.yaw_deg, h.pitch_deg)).any()) for h in hands)
