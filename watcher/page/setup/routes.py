"""The set-up pages, and each as JSON."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Request
from fastapi.responses import Response

from watcher.page.pages import script_safe
from watcher.page.refusals import GET_REFUSALS
from watcher.page.setup.answers import or_refuse
from watcher.page.setup.drawing import Drawing
from watcher.page.setup.port import SetupPort, Unfit
from watcher.page.setup.posts import setup_posts
from watcher.page.setup.shown import (
    CameraShown,
    CardsShown,
    CastShown,
    ChannelShown,
    ElsewhereShown,
    HoleShown,
    LensShown,
    MouldShown,
    SheetShown,
    ShotShown,
    StepShown,
    WallShown,
)
from watcher.page.setup.strip_routes import strip_routes
from watcher.page.setup.views import setup_views


@dataclass(frozen=True, slots=True)
class SetupOut:
    """Every step; `home`: where everything is written to; `watching`: whether a bench is watched already."""

    home: str
    watching: bool
    steps: tuple[StepShown, ...]


@dataclass(frozen=True, slots=True)
class HolesOut:
    """Every hole as it will be read."""

    holes: tuple[HoleShown, ...]


@dataclass(frozen=True, slots=True)
class MouldsOut:
    """Every mould that was taken in, and the picture that the next one is taken in from."""

    moulds: tuple[MouldShown, ...]
    shot: ShotShown


@dataclass(frozen=True, slots=True)
class WallsOut:
    """The list of walls."""

    walls: tuple[WallShown, ...]


@dataclass(frozen=True, slots=True)
class CastsOut:
    """The casts that a wall can be held against."""

    casts: tuple[CastShown, ...]


@dataclass(frozen=True, slots=True)
class ChannelsOut:
    """The ways to reach somebody."""

    channels: tuple[ChannelShown, ...]


def setup_routes(port: SetupPort) -> APIRouter:
    """Return all routes of the set-up: data, pictures, what is asked, and the pages."""
    router = APIRouter()
    router.include_router(_data(port))
    router.include_router(setup_posts(port))
    router.include_router(setup_views(port))
    router.include_router(strip_routes(port))
    router.include_router(_pages(port))
    return router


def _data(port: SetupPort) -> APIRouter:
    router = APIRouter(responses=GET_REFUSALS)

    @router.get("/setup.json", summary="Every step of setting up")
    def steps() -> SetupOut:
        return SetupOut(port.start.home, port.start.watching, port.start.steps())

    @router.get("/setup/camera.json", summary="The camera")
    def camera() -> CameraShown:
        return port.camera.shown()

    @router.get("/setup/print.json", summary="Cards and the print's size")
    def cards() -> CardsShown:
        with or_refuse():
            return port.cards.shown()

    @router.get("/setup/lens.json", summary="The lens")
    def lens() -> LensShown:
        with or_refuse():
            return port.lens.shown()

    @router.get("/setup/sheet.json", summary="What the last look at the bench found")
    def sheet() -> SheetShown:
        return port.bench.sheet()

    @router.get("/setup/sight.json", summary="How well every hole will be read from here")
    def sight() -> HolesOut:
        with or_refuse():
            return HolesOut(port.bench.holes())

    @router.get("/setup/mould.json", summary="Moulds that were taken in, and the picture for the next one")
    def moulds() -> MouldsOut:
        with or_refuse():
            return MouldsOut(port.moulds.all(), port.moulds.shot())

    @router.get("/setup/walls.json", summary="The caster's list of walls")
    def walls() -> WallsOut:
        with or_refuse():
            return WallsOut(port.profiles.walls())

    @router.get("/setup/cut.json", summary="Casts that a wall can be held against")
    def casts(mould: str) -> CastsOut:
        with or_refuse():
            return CastsOut(port.profiles.casts(mould))

    @router.get("/setup/calls.json", summary="Ways to reach somebody, addresses masked")
    def channels() -> ChannelsOut:
        return ChannelsOut(port.calls.channels())

    return router


def _pages(port: SetupPort) -> APIRouter:
    router = APIRouter(include_in_schema=False)
    drawing = Drawing()

    def draw(request: Request, step: str, **shown: object) -> Response:
        template = "setup.html" if step == "all" else f"setup_{step}.html"
        return drawing.draw(request, template, step, watching=port.start.watching, **shown)

    @router.get("/setup")
    def steps_page(request: Request) -> Response:
        return draw(request, "all", steps=port.start.steps(), home=port.start.home)

    @router.get("/setup/camera")
    def camera_page(request: Request) -> Response:
        return draw(request, "camera", camera=port.camera.shown())

    @router.get("/setup/print")
    def print_page(request: Request) -> Response:
        with or_refuse():
            return draw(request, "print", cards=port.cards.shown())

    @router.get("/setup/lens")
    def lens_page(request: Request) -> Response:
        with or_refuse():
            return draw(request, "lens", lens=port.lens.shown())

    @router.get("/setup/sheet")
    def sheet_page(request: Request) -> Response:
        return draw(request, "sheet", sheet=port.bench.sheet())

    @router.get("/setup/strip")
    def strip_page(request: Request) -> Response:
        with or_refuse():
            return draw(request, "strip", strip=port.strip.shown())

    @router.get("/setup/mould")
    def mould_page(request: Request) -> Response:
        with or_refuse():
            shot, moulds, walls = port.moulds.shot(), port.moulds.all(), port.profiles.walls()
        known = {one.name: one.rim_mm for one in moulds}
        marks = {"cards": [_card(one) for one in shot.cards], "rims": shot.rims, "known": known}
        return draw(request, "mould", shot=shot, moulds=moulds, walls=walls, shot_json=script_safe(marks))

    @router.get("/setup/sight")
    def sight_page(request: Request) -> Response:
        try:
            holes, why = port.bench.holes(), ""
        except Unfit as unfit:
            holes, why = (), unfit.say
        return draw(request, "sight", holes=holes, why=why)

    @router.get("/setup/start")
    def start_page(request: Request) -> Response:
        gravity, cake = port.start.slip()
        return draw(request, "start", steps=port.start.steps(), gravity=gravity, cake=cake)

    @router.get("/setup/calls")
    def calls_page(request: Request) -> Response:
        return draw(request, "calls", channels=port.calls.channels())

    @router.get("/setup/walls")
    def walls_page(request: Request) -> Response:
        with or_refuse():
            return draw(request, "walls", walls=port.profiles.walls(), moulds=port.moulds.all())

    @router.get("/setup/cut")
    def cut_page(request: Request, mould: str = "") -> Response:
        with or_refuse():
            moulds = tuple(one for one in port.moulds.all() if one.watched)
            chosen = mould if mould in {one.name for one in moulds} else (moulds[0].name if moulds else "")
            casts = port.profiles.casts(chosen) if chosen and port.start.watching else ()
        zone = ZoneInfo(port.start.zone)
        began = {one.cast_id: _local(one.began_at, zone) for one in casts}
        return draw(request, "cut", moulds=moulds, mould=chosen, casts=casts, began=began)

    @router.get("/setup/profiles")
    def profiles_page(request: Request) -> Response:
        with or_refuse():
            moulds, elsewhere = port.moulds.all(), _elsewhere(port)
            return draw(request, "profiles", moulds=moulds, elsewhere=elsewhere)

    return router


def _local(moment: str, zone: ZoneInfo) -> str:
    return f"{datetime.fromisoformat(moment).astimezone(zone):%Y-%m-%d %H:%M}"


def _card(one: object) -> dict[str, object]:
    return {name: getattr(one, name) for name in ("number", "mould", "corners")}


def _elsewhere(port: SetupPort) -> tuple[ElsewhereShown, ...]:
    """Return other benches' moulds; none while they cannot be asked: the page has more to show."""
    try:
        return port.profiles.elsewhere()
    except Unfit:
        return ()
