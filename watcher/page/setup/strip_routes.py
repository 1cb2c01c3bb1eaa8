"""The survey of a strip on the page: data, pictures, what is asked."""

from __future__ import annotations

from typing import Literal

from fastapi import APIRouter
from fastapi.responses import Response

from watcher.page.refusals import GET_REFUSALS, REFUSALS
from watcher.page.setup.answers import JPEG, PDF, jpeg, kept_file, or_refuse
from watcher.page.setup.port import SetupPort
from watcher.page.setup.shown import StripShown, Told
from watcher.page.setup.typed import Nothing, StripTyped
from watcher.page.shapes import ErrorShape

_POSTS = {**REFUSALS, 503: {"model": ErrorShape, "description": "it cannot be written down now"}}


def strip_routes(port: SetupPort) -> APIRouter:
    """Return the routes of the survey."""
    router = APIRouter()
    router.include_router(_posts(port))

    @router.get("/setup/strip.json", responses=GET_REFUSALS, summary="The survey of a strip")
    def shown() -> StripShown:
        with or_refuse():
            return port.strip.shown()

    @router.get(
        "/setup/strip.jpg", response_class=Response, responses=JPEG, summary="The survey's last picture"
    )
    def picture(v: str = "") -> Response:
        return jpeg(port.strip.picture())

    @router.get(
        "/setup/strip-{paper}.pdf", response_class=Response, responses=PDF, summary="The strip's tags"
    )
    def pdf(paper: Literal["a4", "letter"]) -> Response:
        with or_refuse():
            data = port.strip.pdf(paper)
        return kept_file(data, "application/pdf", f"tipbell-strip-{paper}.pdf")

    return router


def _posts(port: SetupPort) -> APIRouter:
    router = APIRouter(responses=_POSTS)

    @router.post("/setup/strip/look.json", summary="Keep the picture for the survey")
    def look(_: Nothing) -> StripShown:
        with or_refuse():
            return port.strip.look()

    @router.post("/setup/strip.json", summary="Work out where the strip's tags are")
    def survey(typed: StripTyped) -> Told:
        with or_refuse():
            return port.strip.survey(typed.tag_mm)

    @router.post("/setup/strip/forget.json", summary="Put the survey away")
    def forget(_: Nothing) -> Told:
        with or_refuse():
            return port.strip.forget()

    return router
