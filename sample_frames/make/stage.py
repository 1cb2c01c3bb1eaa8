"""The bench as a Mitsuba scene at one moment."""

from __future__ import annotations

from functools import partial

import mitsuba as mi
import numpy as np
import shapes as sh
import skins
from clay import clay_meshes
from clutter import clutter_meshes, jug_mesh
from hands import hand_turn, limb_mesh
from story import HandPass, MouldPart, Session


def bitmap(image: np.ndarray, clamp: bool = True):
    """Return a texture from linear RGB values."""
    return mi.load_dict(
        {
            "type": "bitmap",
            "bitmap": mi.Bitmap(np.ascontiguousarray(image, np.float32)),
            "raw": True,
            "wrap_mode": "clamp" if clamp else "mirror",
        }
    )


def matt(colour):
    """Two-sided matt surface of a colour or texture."""
    skin = {"type": "rgb", "value": list(colour)} if isinstance(colour, (tuple, list)) else colour
    return mi.load_dict({"type": "twosided", "b": {"type": "diffuse", "reflectance": skin}})


def glossy(colour, rough: float, index: float = 1.36):
    """Two-sided wet or varnished surface."""
    skin = {"type": "rgb", "value": list(colour)} if isinstance(colour, (tuple, list)) else colour
    return mi.load_dict(
        {
            "type": "twosided",
            "b": {
                "type": "roughplastic",
                "distribution": "ggx",
                "alpha": rough,
                "int_ior": index,
                "nonlinear": True,
                "diffuse_reflectance": skin,
            },
        }
    )


def solid(mesh: sh.Mesh, bsdf, smooth: bool = True):
    """Return a Mitsuba mesh."""
    props = mi.Properties()
    props["mesh_bsdf"] = bsdf
    shape = mi.Mesh(
        "m",
        len(mesh.points),
        len(mesh.faces),
        props=props,
        has_vertex_normals=smooth,
        has_vertex_texcoords=True,
    )
    params = mi.traverse(shape)
    params["vertex_positions"] = np.ascontiguousarray(mesh.points, np.float32).ravel()
    params["faces"] = np.ascontiguousarray(mesh.faces, np.uint32).ravel()
    params["vertex_texcoords"] = np.ascontiguousarray(mesh.uv, np.float32).ravel()
    params.update()
    return shape


class Stage:
    """Builds scenes of one session; keeps what does not change."""

    def __init__(self, session: Session, runs: dict):
        self.session, self.runs, self.kept = session, runs, {}

    def keep(self, key, make):
        """Return the kept thing, made on first use."""
        if key not in self.kept:
            self.kept[key] = make()
        return self.kept[key]

    def room(self) -> list:
        """Bench, wall, sheet and clutter."""
        s = self.session
        rng = np.random.default_rng(s.seed + 17)
        top = bitmap(skins.bench_top(s.bench, rng), clamp=False)
        surface = glossy(top, 0.35, 1.3) if s.bench in ("ply", "oak", "tiles", "steel") else matt(top)
        bench = sh.sheet((0, s.wall_y - 1000.0, -0.4), 1000.0, 1000.0)
        wall = sh.Mesh(
            np.array(
                [
                    [-2000, s.wall_y, -50],
                    [2000, s.wall_y, -50],
                    [2000, s.wall_y, 1900],
                    [-2000, s.wall_y, 1900.0],
                ]
            ),
            np.array([[0, 1, 2], [0, 2, 3]]),
            np.zeros((4, 2)),
        )
        out = [solid(bench, surface), solid(wall, matt(s.wall)), *self.papers()]
        for mesh, colour, rough in clutter_meshes(s, rng):
            out.append(solid(mesh, glossy(colour, rough) if rough else matt(colour)))
        return out

    def papers(self) -> list:
        """Return the bench sheet, or the row of tags on the wall."""
        s = self.session
        if not s.strip:
            tags = bitmap(skins.bench_sheet(s.sheet, s.sheet_half))
            return [solid(sh.sheet((0, 0, 0.0), *s.sheet_half), matt(tags))]
        out, upright = [], np.array([[1, 0, 0], [0, 0, -1.0], [0, 1.0, 0]])
        for tag_id, size, (x, z) in s.sheet:
            half = size * 0.64
            paper = sh.sheet((0, 0, 0), half, half).moved((x, s.wall_y - 1.0, z), turn=upright)
            out.append(solid(paper, matt(bitmap(skins.printed(tag_id, size, (2 * half, 2 * half), 8.0)))))
        return out

    def mould_still(self, part: MouldPart, place, splashed: bool) -> list:
        """Plaster, strap and card of one mould where it stands."""
        rng = np.random.default_rng(part.seed)
        if place.state == "flipped":
            box = sh.lump(part.half, part.height, part.corner, part.top_round)
            bsdf = matt(bitmap(skins.plaster(rng, 512, part.tone), clamp=False))
            strap = sh.band(part.half, part.corner, part.height * 0.45, 14.0)
            out = [solid(box.moved((place.x, place.y, 0), place.yaw_deg), bsdf)]
            return out + self.strapped(part, strap.moved((place.x, place.y, 0), place.yaw_deg))
        hole = np.array(part.hole_xy)
        wall = float(part.cavity.radius(part.rim_round))
        top, side = sh.block(part.half, part.height, part.corner, part.top_round, hole, wall, part.rim_round)
        z = np.arange(part.rim_round, part.cavity.floor_mm + 0.01, 1.0)
        bore = [(float(part.cavity.radius(d)), -float(d)) for d in z]
        bore += [
            (float(part.cavity.radius(part.cavity.floor_mm)), -part.cavity.floor_mm),
            (0.01, -part.cavity.floor_mm),
        ]
        inside = sh.lathe(bore)
        letters = (part.letters, (-part.half[0] * 0.2, -part.half[1] * 0.86)) if part.letters else None
        canvas = skins.mould_top(rng, part.tone, part.seam_deg, part.hole_xy, letters)
        if splashed:
            radius = part.cavity.bore[0][1] / 2
            colour = np.array(self.session.clay.colour) * 0.95 + 0.03
            canvas = skins.splashed(canvas, rng, hole, radius, colour, part.splashes, part.spill)
        skin_side = skins.mould_side(
            rng, part.tone, np.array(self.session.clay.colour), int(rng.integers(0, 4))
        )
        drips = self.session.clay.drips if splashed else 0
        tone, colour = part.tone * 0.99, np.array(self.session.clay.colour) * 0.92
        lining = skins.mould_side(rng, tone, colour, drips) if drips else skins.plaster(rng, 512, tone)
        plain = bitmap(lining, clamp=False)
        paper = part.tag_mm * 1.32
        card = sh.sheet((*part.card_xy, 0.35), paper / 2, paper / 2, part.card_yaw_deg)
        face = bitmap(skins.printed(part.tag_id, part.tag_mm, (paper, paper), 12.0))
        items = [
            (top, matt(bitmap(canvas))),
            (side, matt(bitmap(skin_side, clamp=False))),
            (inside.moved((*hole, 0)), matt(plain)),
        ]
        if self.session.cards:
            items.append((card, matt(face)))
        out = []
        for mesh, bsdf in items:
            out.append(solid(self.set_down(mesh, part, place), bsdf))
        strap = sh.band(part.half, part.corner, -part.height * 0.52, 14.0)
        return out + self.strapped(part, self.set_down(strap, part, place))

    def strapped(self, part: MouldPart, mesh: sh.Mesh) -> list:
        """Return the strap, where the mould has one."""
        return [solid(mesh, matt(part.strap))] if part.strap else []

    def set_down(self, mesh: sh.Mesh, part: MouldPart, place) -> sh.Mesh:
        """From the mould's axes (its top's middle) to the bench: the rim centre stands at the place."""
        shifted = mesh.moved((-part.hole_xy[0], -part.hole_xy[1], 0))
        if place.state == "lying":
            tip = np.array([[1, 0, 0], [0, 0, 1.0], [0, -1.0, 0]])  # rim faces away from the camera's side
            laid = mesh.moved((0, 0, part.height / 2)).moved((0, 0, 0), turn=tip)
            return laid.moved((place.x, place.y, part.half[1]), place.yaw_deg)
        return shifted.moved((place.x, place.y, part.height), place.yaw_deg)

    def clay_now(self, i: int, part: MouldPart, place, time_s: float) -> list:
        """Film and slip inside one mould."""
        moment = self.runs[part.name].at(time_s)
        out = []
        if moment.cake_mm is None or place.state not in ("in", "lying"):
            return out
        clay = self.session.clay
        look = self.keep(("clay", i), lambda: self.clay_looks(part))
        for mesh, kind in clay_meshes(part, moment, clay):
            up = self.session.up
            if place.state == "in" and up[:2] != (0.0, 0.0):
                flat = mesh.moved((0, 0, 0), place.yaw_deg).points
                mesh.points[:, 2] -= (up[0] * flat[:, 0] + up[1] * flat[:, 1]) / up[2]
            mesh = mesh.moved((*part.hole_xy, 0))
            out.append(solid(self.set_down(mesh, part, place), look[kind]))
        return out

    def clay_looks(self, part: MouldPart) -> dict:
        """Surfaces of slip and film."""
        clay, rng = self.session.clay, np.random.default_rng(part.seed + 5)
        film = bitmap(
            skins.clay_skin(rng, np.array(clay.colour) * clay.film_shade, clay.streaks), clamp=False
        )
        slip = bitmap(skins.clay_skin(rng, np.array(clay.colour), 0.004), clamp=False)
        return {"film": glossy(film, clay.film_rough), "slip": glossy(slip, clay.slip_rough)}

    def hands_now(self, hands: list[HandPass]) -> list:
        """Hands that are in the picture."""
        out = []
        for h in hands:
            turn = hand_turn(h.yaw_deg, h.pitch_deg)
            for sleeve, colour in ((False, self.session.skin), (True, self.session.sleeve)):
                mesh = limb_mesh(sleeve).moved(h.over, turn=turn)
                bsdf = glossy(colour, 0.45, 1.35) if not sleeve else matt(colour)
                out.append(solid(mesh, bsdf))
        return out

    def pouring(self, part: MouldPart, place, moment, time_s: float) -> list:
        """Jug and stream over a mould that is being filled."""
        level = moment.level_mm if moment.level_mm is not None else part.cavity.floor_mm
        look = glossy(self.session.clay.colour, 0.1)
        tip = np.array([place.x + 0.15 * part.cavity.bore[0][1] / 2, place.y + 2.0, part.height + 75.0])
        foot = np.array([place.x, place.y, part.height - min(level, 60.0)])
        at = self.session.stream_at(part.name, time_s)
        if at is not None:
            # the stream leaves the lip a little towards the jug's far side and falls nearly straight
            tip = np.array([place.x + at[0] + 6.0, place.y + at[1] + 1.5, part.height + 75.0])
            deep = min(level, 60.0)
            lean = -deep / 75.0
            foot = np.array([place.x + at[0] + 6.0 * lean, place.y + at[1] + 1.5 * lean, part.height - deep])
        return [solid(sh.rod(foot, tip, 2.6), look), solid(jug_mesh(tip), glossy((0.55, 0.6, 0.62), 0.2))]

    def lights(self, time_s: float) -> dict:
        """All emitters that are on."""
        s = self.session.light
        aim = mi.ScalarTransform4f().look_at(origin=list(s.window_at), target=[0, 100, 60], up=[0, 0, 1])
        size = mi.ScalarTransform4f().scale([s.window_size[0] / 2, s.window_size[1] / 2, 1])
        out = {
            "room": {"type": "constant", "radiance": {"type": "rgb", "value": list(s.room)}},
            "window": {
                "type": "rectangle",
                "to_world": aim @ size,
                "bsdf": {"type": "diffuse"},
                "e": {"type": "area", "radiance": {"type": "rgb", "value": list(s.window)}},
            },
        }
        if s.lamp_at and any(a <= time_s < b for a, b in s.lamp_on):
            aim = mi.ScalarTransform4f().look_at(origin=list(s.lamp_at), target=[0, 100, 50], up=[0.1, 1, 0])
            out["lamp"] = {
                "type": "disk",
                "to_world": aim @ mi.ScalarTransform4f().scale([60, 60, 1]),
                "bsdf": {"type": "diffuse"},
                "e": {"type": "area", "radiance": {"type": "rgb", "value": list(s.lamp)}},
            }
        if s.sun and s.sun_path:
            t, x, y = np.array(s.sun_path).T
            middle = np.array([np.interp(time_s, t, x), np.interp(time_s, t, y), 100.0])
            away = np.array([-0.60, -0.45, 0.66]) * 2500.0
            far, (wide, high) = float(np.linalg.norm(away)), s.sun_size
            panes = np.full((256, max(8, round(256 * wide / high)), 3), np.array(s.sun) * far**2, np.float32)
            panes[122:134] = 0.0
            panes[:, panes.shape[1] // 2 - 4 : panes.shape[1] // 2 + 4] = 0.0
            aim = mi.ScalarTransform4f().look_at(
                origin=list(middle + away), target=list(middle), up=[0.3, 1, 0]
            )
            out["sun"] = {
                "type": "projector",
                "to_world": aim,
                "irradiance": bitmap(panes),
                "fov_axis": "y",
                "fov": float(np.degrees(2 * np.arctan(high / 2 / far))),
            }
        return out

    def scene(self, time_s: float, hands: list[HandPass]):
        """Return the whole scene at a moment."""
        items = list(self.keep("room", self.room))
        for i, part in enumerate(self.session.moulds):
            place = part.place_at(time_s)
            if place.state == "out":
                continue
            moment = self.runs[part.name].at(time_s)
            wet = moment.phase != "empty"
            key = ("mould", i, place, wet)
            items += self.keep(key, partial(self.mould_still, part, place, wet))
            items += self.clay_now(i, part, place, time_s)
            if moment.phase in ("filling", "topping_up") and place.state == "in":
                items += self.pouring(part, place, moment, time_s)
        items += self.hands_now(hands)
        world = {"type": "scene", **self.lights(time_s)}
        world |= {f"item{k}": item for k, item in enumerate(items)}
        return mi.load_dict(world)
