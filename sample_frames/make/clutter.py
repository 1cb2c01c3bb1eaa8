"""Things that lie about on a bench."""

from __future__ import annotations

import numpy as np
import shapes as sh
from story import Session


def bucket(place, radius: float, height: float, colour, clay) -> list:
    """Return a pail of slip."""
    shell = sh.lathe(
        [
            (radius * 0.82, 0),
            (radius, height),
            (radius + 4, height),
            (radius + 4, height + 5),
            (radius - 2, height + 5),
            (radius * 0.8, 6),
            (0.01, 6),
        ]
    )
    fill = sh.disc_cap(radius * 0.95, height * 0.82)
    return [(shell.moved(place), colour, 0.25), (fill.moved(place), clay, 0.12)]


def sponge(place, yaw: float, colour, rng) -> list:
    """Return a sponge, lumpy."""
    mesh = sh.rounded_box((52, 34, 19), 9)
    mesh.points += rng.normal(0, 0.35, mesh.points.shape)
    return [(mesh.moved((*place[:2], 19), yaw), colour, 0.0)]


def bowl(place, radius: float, colour) -> list:
    """Return a glazed bowl."""
    a = np.linspace(0.15, np.pi / 2, 16)
    outer = [(radius * np.sin(t), radius * 0.6 * (1 - np.cos(t))) for t in a]
    inner = [((radius - 4) * np.sin(t), 4 + (radius * 0.6 - 2) * (1 - np.cos(t))) for t in a[::-1]]
    return [(sh.lathe([*outer, *inner, (0.01, 4)]).moved(place), colour, 0.08)]


def jug_mesh(tip: np.ndarray) -> sh.Mesh:
    """Return a jug tilted so that its lip is at `tip`, body behind and to the right."""
    shell = [
        (38, -120),
        (48, -60),
        (44, -10),
        (46, 0),
        (43, 0),
        (41, -10),
        (45, -60),
        (35, -116),
        (0.01, -116),
    ]
    mesh = sh.lathe(shell)
    lean = np.radians(72)
    # the lip's point (+46, 0, 0) stays put while the jug leans towards -x
    turn = np.array([[np.cos(lean), 0, -np.sin(lean)], [0, 1, 0], [np.sin(lean), 0, np.cos(lean)]])
    mesh.points[:, 0] = -mesh.points[:, 0]
    mesh.points += np.array([46.0, 0, 0])
    swing = np.radians(25)
    aside = np.array([[np.cos(swing), -np.sin(swing), 0], [np.sin(swing), np.cos(swing), 0], [0, 0, 1]])
    return mesh.moved(tip, turn=aside @ turn)


def clutter_meshes(session: Session, rng: np.random.Generator) -> list:
    """(mesh, colour, roughness) of each thing; roughness 0 is matt."""
    taken = [(p.x, p.y, max(m.half) * 1.5) for m in session.moulds for p in m.places if p.state != "out"]
    taken.append((0.0, 0.0, max(session.sheet_half) + 20))
    eye = np.array(session.poses[0][1].eye[:2])

    def free_spot(reach: float, low: bool):
        for _ in range(400):
            far = session.wall_y - reach - 15 if session.strip else 520.0
            spot = np.array([rng.uniform(-430, 430), rng.uniform(-150 if low else 260, far)])
            if all(np.hypot(*(spot - t[:2])) > reach + t[2] for t in taken):
                taken.append((*spot, reach))
                return (*spot, 0.0)
        return (float(eye[0] + 800), 560.0, 0.0)

    out = []
    for thing in session.clutter:
        tint = np.clip(rng.uniform(0.08, 0.6, 3), 0, 1)
        if thing == "bucket":
            out += bucket(
                free_spot(120, False),
                rng.uniform(85, 115),
                rng.uniform(150, 210),
                tuple(tint),
                session.clay.colour,
            )
        elif thing == "sponge":
            colour = [(0.75, 0.55, 0.08), (0.72, 0.42, 0.30), (0.62, 0.62, 0.25)][rng.integers(3)]
            out += sponge(free_spot(60, True), rng.uniform(0, 180), colour, rng)
        elif thing == "stick":
            x, y, _ = free_spot(70, True)
            a = rng.uniform(0, np.pi)
            d = np.array([np.cos(a), np.sin(a), 0]) * 110
            out.append(
                (sh.rod(np.array([x, y, 6.0]) - d, np.array([x, y, 6.0]) + d, 5.5), (0.42, 0.24, 0.11), 0.0)
            )
        elif thing == "bowl":
            out += bowl(free_spot(75, True), rng.uniform(50, 70), tuple(tint))
        elif thing == "cup":
            x, y, _ = free_spot(50, True)
            shell = sh.lathe([(30, 0), (38, 85), (35, 85), (27, 4), (0.01, 4)])
            out.append((shell.moved((x, y, 0)), tuple(tint), 0.1))
        elif thing == "cloth":
            mesh = sh.rounded_box((90, 60, 7), 6)
            mesh.points[:, 2] += 4 * np.sin(mesh.points[:, 0] / 17) * np.cos(mesh.points[:, 1] / 23)
            x, y, _ = free_spot(100, True)
            out.append((mesh.moved((x, y, 9), rng.uniform(0, 180)), tuple(0.6 * tint + 0.2), 0.0))
    return out
