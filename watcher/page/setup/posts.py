"""What is asked of the set-up by a form: each a POST that says what came of it."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter, Depends

from watcher.page.refusals import REFUSALS
from watcher.page.setup.answers import keeper_only, or_refuse
from watcher.page.setup.drawing_post import drawing_post
from watcher.page.setup.port import SetupPort
from watcher.page.setup.shown import LensShown, SheetShown, ShotShown, Told, TriedShown
from watcher.page.setup.typed import (
    CameraTyped,
    ChannelTyped,
    CutTyped,
    ElsewhereTyped,
    GuessTyped,
    MouldNamed,
    MouldTyped,
    NamesTyped,
    Nothing,
    PrintTyped,
    ProfileTyped,
    RulerTyped,
    StartTyped,
    UseTyped,
    WallTyped,
    WantTyped,
)
from watcher.page.shapes import ErrorShape

_POSTS = {**REFUSALS, 503: {"model": ErrorShape, "description": "it cannot be written down now"}}


@dataclass(frozen=True, slots=True)
class TriedOut:
    """What became of the test calls."""

    tried: tuple[TriedShown, ...]


def setup_posts(port: SetupPort) -> APIRouter:
    """Return every route that changes something."""
    router = APIRouter(responses=_POSTS)
    router.include_router(_of_the_keeper(port))
    router.include_router(_of_the_lens(port))
    router.include_router(_of_the_moulds(port))
    router.include_router(_of_the_profiles(port))
    router.include_router(drawing_post(port))

    @router.post("/setup/cards.json", summary="Give moulds their cards")
    def cards(typed: NamesTyped) -> Told:
        with or_refuse():
            return port.cards.name(tuple(typed.names))

    @router.post("/setup/print.json", summary="Take in the print's true size")
    def measured(typed: PrintTyped) -> Told:
        with or_refuse():
            return port.cards.measured(typed.ruler_mm, typed.ruler_up_mm)

    @router.post("/setup/sheet.json", summary="Look for the bench sheet now")
    def sheet(_: Nothing) -> SheetShown:
        with or_refuse():
            return port.bench.look()

    @router.post("/setup/calls/test.json", summary="Send a test call by each way")
    def test_calls(_: Nothing) -> TriedOut:
        with or_refuse():
            return TriedOut(port.calls.test())

    return router


def _of_the_keeper(port: SetupPort) -> APIRouter:
    router = APIRouter(dependencies=[Depends(keeper_only)])

    @router.post("/setup/camera.json", summary="Choose the camera")
    def camera(typed: CameraTyped) -> Told:
        with or_refuse():
            return port.camera.choose(typed.address, typed.width_px, typed.height_px)

    @router.post("/setup/start.json", summary="Put everything together and watch")
    def start(typed: StartTyped) -> Told:
        with or_refuse():
            return port.start.start(typed)

    @router.post("/setup/calls.json", summary="Add a way to reach somebody")
    def add(typed: ChannelTyped) -> Told:
        with or_refuse():
            return port.calls.add(typed.name, typed.address)

    return router


def _of_the_lens(port: SetupPort) -> APIRouter:
    router = APIRouter()

    @router.post("/setup/lens/guess.json", summary="Guess the lens")
    def guess(typed: GuessTyped) -> Told:
        with or_refuse():
            return port.lens.guess(typed.view_deg, diagonal=typed.diagonal)

    @router.post("/setup/lens/look.json", summary="Look once for the lens board")
    def look(_: Nothing) -> LensShown:
        with or_refuse():
            return port.lens.look()

    @router.post("/setup/lens/measure.json", summary="Work the lens out from the views")
    def measure(_: Nothing) -> Told:
        with or_refuse():
            return port.lens.measure()

    @router.post("/setup/lens/forget.json", summary="Put the views away")
    def forget(_: Nothing) -> Told:
        with or_refuse():
            return port.lens.forget()

    return router


def _of_the_moulds(port: SetupPort) -> APIRouter:
    router = APIRouter()

    @router.post("/setup/mould/shot.json", summary="Take the picture that a mould is taken in from")
    def shot(_: Nothing) -> ShotShown:
        with or_refuse():
            return port.moulds.take_shot()

    @router.post("/setup/mould.json", summary="Find a mould's rim, and keep it")
    def mould(typed: MouldTyped) -> Told:
        with or_refuse():
            return port.moulds.take_in(typed)

    @router.post("/setup/mould/out.json", summary="Take a mould out")
    def out(typed: MouldNamed) -> Told:
        with or_refuse():
            return port.moulds.remove(typed.mould)

    return router


def _of_the_profiles(port: SetupPort) -> APIRouter:
    router = APIRouter()

    @router.post("/setup/walls.json", summary="Put a wall into the list")
    def wall(typed: WallTyped) -> Told:
        with or_refuse():
            return port.profiles.set_wall(typed.use, typed.thin_mm, typed.thick_mm)

    @router.post("/setup/walls/out.json", summary="Take a wall out of the list")
    def wall_out(typed: UseTyped) -> Told:
        with or_refuse():
            return port.profiles.drop_wall(typed.use)

    @router.post("/setup/want.json", summary="Give a mould its wanted wall")
    def want(typed: WantTyped) -> Told:
        with or_refuse():
            return port.profiles.want(typed.mould, typed.thin_mm, typed.thick_mm)

    @router.post("/setup/cut.json", summary="Hold a measured wall against its cast")
    def cut(typed: CutTyped) -> Told:
        with or_refuse():
            return port.profiles.cut(typed)

    @router.post("/setup/ruler.json", summary="Hold a dipped ruler against the eye")
    def ruler(typed: RulerTyped) -> Told:
        with or_refuse():
            return port.profiles.ruler(typed.mould, typed.level_mm)

    @router.post("/setup/profile.json", summary="Take in somebody's profile")
    def bring(typed: ProfileTyped) -> Told:
        with or_refuse():
            return port.profiles.bring(typed.text)

    @router.post("/setup/elsewhere.json", summary="Bring a mould of another bench")
    def bring_from(typed: ElsewhereTyped) -> Told:
        with or_refuse():
            return port.profiles.bring_from(typed)

    return router
