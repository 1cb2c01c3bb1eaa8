"""Make the page's application from the running bench."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from fastapi import FastAPI
from fastapi.responses import JSONResponse
from fastapi.staticfiles import StaticFiles
from starlette.middleware import Middleware
from starlette.middleware.gzip import GZipMiddleware

from watcher import __version__
from watcher.clock import ComputerClock
from watcher.desk.memory import BenchMemory
from watcher.page.access.access import Access
from watcher.page.access.door import Door
from watcher.page.access.proxy import Proxied
from watcher.page.access.routes import access_routes
from watcher.page.afterwards import afterwards_routes
from watcher.page.curves import CurveShelf
from watcher.page.damp_now import damp_shelf
from watcher.page.data import data_routes
from watcher.page.day import Plans, day_routes
from watcher.page.desk_pages import desk_pages
from watcher.page.guard import Guard
from watcher.page.live import live_routes
from watcher.page.others import Others, others_routes
from watcher.page.others_page import others_pages
from watcher.page.pages import missing_page, page_routes
from watcher.page.pictures import picture_routes
from watcher.page.port import BenchPort
from watcher.page.refusals import install_refusals
from watcher.page.review import review_routes
from watcher.page.saying import saying_routes
from watcher.page.setup.port import SetupPort
from watcher.page.setup.routes import setup_routes
from watcher.page.slip import slip_routes
from watcher.page.story import story_routes
from watcher.page.views import BenchViews

HERE = Path(__file__).parent
WELL_WITHIN_S = 30.0
"""A bench that has not moved on for so long is not well: its clock ticks every second."""


def make_app(
    port: BenchPort,
    *,
    opened: bool = False,
    names: Iterable[str] = (),
    access: Access | None = None,
    memory: BenchMemory | None = None,
    setup: SetupPort | None = None,
    others: Others | None = None,
) -> FastAPI:
    """Return the page as an ASGI application.

    Parameters
    ----------
    port : BenchPort
        The running bench.
    opened : bool
        False: it answers this machine alone, whatever address the server listens on.
    names : iterable of str
        Host names, besides number addresses, by which an opened bench may be called.
    access : Access, optional
        Who may use the page; where it is given, it also says whether the bench is opened. Without it nobody
        outlives a restart.
    memory : BenchMemory, optional
        What is remembered; without it there are no pages of review, slip, day and pieces.

    setup : SetupPort, optional
        Who sets the bench up; without it there are no pages for that.
    others : Others, optional
        Who knows the other benches; without it this bench is alone.

    Notes
    -----
    Run it with one worker, and with a limit on the graceful stop (`timeout_graceful_shutdown=3`): an open
    live stream ends by itself only when `port.stopping()` says so.
    """
    if access is None:
        access = Access(ComputerClock(), "bench", opened=opened)
    app = FastAPI(
        title="Tipbell",
        version=__version__,
        description="The bench as the page shows it, and what the caster says to it.",
        docs_url=None,  # their script would come from the internet
        redoc_url=None,
        middleware=[
            Middleware(Proxied, address=access.proxy, path=access.path),
            Middleware(Guard, opened=access.opened, names=(*names, *access.reach.names)),
            Middleware(Door, book=access.book, cookie=access.cookie),
            Middleware(GZipMiddleware, minimum_size=600, compresslevel=6),
        ],
    )
    views = BenchViews(port) if memory is None else BenchViews(port, damp_shelf(port, memory).of)
    install_refusals(app, missing_page(port, views, remembers=memory is not None))
    curves = CurveShelf()
    app.include_router(data_routes(port, views, curves))
    app.include_router(live_routes(port, views))
    app.include_router(saying_routes(port))
    app.include_router(others_routes(port, others))
    app.include_router(picture_routes(port))
    app.include_router(access_routes(access, port.zone))
    plans = None
    if memory is not None:
        plans = Plans(port, memory)
        app.include_router(review_routes(port, memory))
        app.include_router(story_routes(port, memory))
        app.include_router(afterwards_routes(port, memory))
        app.include_router(slip_routes(port, memory))
        app.include_router(day_routes(port, memory, plans))
    app.state.sets_up = setup is not None
    app.state.shares = others is not None
    if setup is not None:
        app.include_router(setup_routes(setup))
    _add_health(app, port)
    app.mount("/static", StaticFiles(directory=HERE / "static"), name="static")
    if memory is not None and plans is not None:
        app.include_router(desk_pages(port, views, memory, plans))
    app.include_router(page_routes(port, views, curves, remembers=memory is not None))
    app.include_router(others_pages(port, views, others, remembers=memory is not None))
    return app


def _add_health(app: FastAPI, port: BenchPort) -> None:
    @app.get("/health.json", summary="Well or not", responses={503: {"description": "not well"}})
    def health() -> JSONResponse:
        bench = port.bench()
        still_s = (port.now() - bench.now_at).total_seconds() if bench.now_at is not None else 0.0
        well = not port.stopping() and not bench.camera_why and still_s < WELL_WITHIN_S
        return JSONResponse({"ok": well}, 200 if well else 503)
