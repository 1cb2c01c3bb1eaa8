"""The page before anything is watched: the set-up alone, on this computer alone."""

from __future__ import annotations

from pathlib import Path

from fastapi import FastAPI
from fastapi.responses import JSONResponse, RedirectResponse, Response
from fastapi.staticfiles import StaticFiles
from starlette.middleware import Middleware
from starlette.middleware.gzip import GZipMiddleware

from watcher import __version__
from watcher.page.access.access import Access
from watcher.page.access.door import Door
from watcher.page.access.proxy import Proxied
from watcher.page.access.routes import access_routes
from watcher.page.guard import Guard
from watcher.page.refusals import install_refusals
from watcher.page.setup.port import SetupPort
from watcher.page.setup.routes import setup_routes

STATIC = Path(__file__).parent.parent / "static"


def make_setup_app(port: SetupPort, access: Access) -> FastAPI:
    """Return the page of a folder in which no bench is watched yet.

    Parameters
    ----------
    port : SetupPort
    access : Access
        Who may use it. It must not be opened: whoever sets up chooses cameras and addresses.
    """
    if access.opened:
        raise ValueError("the first set-up is for this computer alone")
    app = FastAPI(
        title="Tipbell",
        version=__version__,
        description="Setting a bench up for the first time.",
        docs_url=None,
        redoc_url=None,
        middleware=[
            Middleware(Proxied, address=access.proxy, path=access.path),
            Middleware(Guard, opened=False, names=()),
            Middleware(Door, book=access.book, cookie=access.cookie),
            Middleware(GZipMiddleware, minimum_size=600, compresslevel=6),
        ],
    )
    install_refusals(app)
    app.include_router(access_routes(access, "UTC"))
    app.include_router(setup_routes(port))
    app.mount("/static", StaticFiles(directory=STATIC), name="static")

    @app.get("/", include_in_schema=False)
    def first() -> Response:
        return RedirectResponse("setup", 303)

    @app.get("/health.json", summary="Well or not", responses={503: {"description": "not watching yet"}})
    def health() -> JSONResponse:
        return JSONResponse({"ok": False}, 503)

    return app
