"""The pictures and files of the set-up."""

from __future__ import annotations

from typing import Literal

from fastapi import APIRouter
from fastapi.responses import Response

from watcher.page.refusals import GET_REFUSALS
from watcher.page.setup.answers import JPEG, PDF, jpeg, kept_file, or_refuse
from watcher.page.setup.port import SetupPort

_TOML = {200: {"content": {"application/toml": {}}, "description": "a profile"}, **GET_REFUSALS}


def setup_views(port: SetupPort) -> APIRouter:
    """Return the routes of pictures and files. `?v=` only makes an address its own; it is not read."""
    router = APIRouter()

    @router.get("/setup/view.jpg", response_class=Response, responses=JPEG, summary="What the camera sees")
    def view(v: str = "") -> Response:
        return jpeg(port.camera.picture())

    @router.get("/setup/coverage.jpg", response_class=Response, responses=JPEG, summary="Coverage map")
    def coverage(v: str = "") -> Response:
        with or_refuse():
            return jpeg(port.lens.coverage())

    @router.get("/setup/sheet.jpg", response_class=Response, responses=JPEG, summary="The last look")
    def sheet(v: str = "") -> Response:
        return jpeg(port.bench.sheet_picture())

    @router.get("/setup/mould/shot.jpg", response_class=Response, responses=JPEG, summary="Picture to tap in")
    def shot(v: str = "") -> Response:
        return jpeg(port.moulds.shot_picture())

    @router.get("/setup/cards-{paper}.pdf", response_class=Response, responses=PDF, summary="What is printed")
    def pdf(paper: Literal["a4", "letter"]) -> Response:
        with or_refuse():
            data = port.cards.pdf(paper)
        return kept_file(data, "application/pdf", f"tipbell-cards-{paper}.pdf")

    @router.get(
        "/setup/profile/{mould:path}.toml", response_class=Response, responses=_TOML, summary="A profile"
    )
    def profile(mould: str) -> Response:
        with or_refuse():
            return kept_file(port.profiles.text(mould).encode(), "application/toml", f"{mould}.toml")

    return router
