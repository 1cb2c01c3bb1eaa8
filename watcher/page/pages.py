"""The pages themselves: HTML with the first data inside, so that the first picture needs no second asking."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response
from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape

from watcher.page.curves import CurveShelf
from watcher.page.data import mould_page_view
from watcher.page.port import BenchPort
from watcher.page.views import BenchViews
from watcher.page.words import LANGUAGES, words_for
from watcher.page.words_why import why_words

HERE = Path(__file__).parent
MANY = 10
"""Moulds above which their cards take the whole width of the bench page; `bench.js` says the same."""

_IMPORT = re.compile(r'^import .* from "\./(\w+\.js)";$', re.MULTILINE)


class Pages:
    """Draws pages out of templates.

    Parameters
    ----------
    port : BenchPort
    scripts : mapping of str to str
        The script of each template.
    desk : bool
        Whether these pages need the desk's words too.
    remembers : bool
        Whether there is a memory behind the bench: only then the ways to its pages are shown.
    """

    def __init__(
        self,
        port: BenchPort,
        scripts: Mapping[str, str],
        *,
        desk: bool = False,
        remembers: bool = False,
    ) -> None:
        self._port = port
        self._desk = desk
        self._remembers = remembers
        self._templates = Environment(
            loader=FileSystemLoader(HERE / "templates"),
            autoescape=select_autoescape(),
            undefined=StrictUndefined,
        )
        self._modules = {template: _modules_of(first) for template, first in scripts.items()}

    def show(
        self,
        request: Request,
        template: str,
        *,
        status: int = 200,
        here: str = "",
        name: str = "",
        shown: Mapping[str, Any] | None = None,
        **data: Any,
    ) -> HTMLResponse:
        """Return a page.

        Parameters
        ----------
        here : str
            Which of the ways at the top this page is.
        name : str
            What it is about.
        shown : mapping
            For the template alone.
        **data
            For the script, as JSON in the page.
        """
        settings = look_of(request)
        words = words_for(settings["language"], desk=self._desk)
        text = self._templates.get_template(template).render(
            bench_id=self._port.bench().bench_id,
            name=name,
            here=here,
            remembers=self._remembers,
            sets_up=getattr(request.app.state, "sets_up", False),
            shares=getattr(request.app.state, "shares", False),
            up=way_up(request),
            words=words,
            w=words.__getitem__,
            modules=self._modules[template],
            languages=LANGUAGES,
            **_rights(request),
            data={
                key: script_safe(value)
                for key, value in (data | {"words": words, "why": why_words(settings["language"])}).items()
            },
            **(shown or {}),
            **settings,
        )
        return HTMLResponse(text, status)


def missing_page(port: BenchPort, views: BenchViews, *, remembers: bool) -> Callable[[Request], Response]:
    """Return what draws the page for an address that leads nowhere."""
    pages = Pages(port, {"missing.html": "missing.js"}, remembers=remembers)
    return lambda request: pages.show(request, "missing.html", status=404, bench=views.dict())


def page_routes(
    port: BenchPort, views: BenchViews, curves: CurveShelf, *, remembers: bool = False
) -> APIRouter:
    """Return the routes of the pages."""
    router = APIRouter(include_in_schema=False)
    scripts = {"bench.html": "bench.js", "mould.html": "mould.js", "missing.html": "missing.js"}
    pages = Pages(port, scripts, remembers=remembers)

    @router.get("/")  # the page asks for newer curves by itself, when it has been drawn
    def bench_page(request: Request) -> Response:
        newest = curves.all(port.bench(), newest=False)
        many = {"many": len(port.bench().layout.moulds) > MANY}
        return pages.show(request, "bench.html", here="bench", shown=many, bench=views.dict(), curves=newest)

    @router.get("/mould/{name:path}")
    def mould_page(request: Request, name: str) -> Response:
        known = {placed.name for placed in port.bench().layout.moulds}
        if name not in known:
            return pages.show(request, "missing.html", status=404, bench=views.dict())
        mould = mould_page_view(name, port, curves)
        return pages.show(request, "mould.html", name=name, bench=views.dict(), mould=mould)

    return router


def _modules_of(first: str) -> list[str]:
    """Return a module and all that it imports: the browser then fetches them all at once."""
    found: list[str] = []
    waiting = [first]
    while waiting:
        name = waiting.pop()
        if name not in found:
            found.append(name)
            waiting += _IMPORT.findall((HERE / "static" / name).read_text(encoding="utf-8"))
    return sorted(found)


def look_of(request: Request) -> dict[str, str]:
    """How this browser wants its page: from its own cookies, else as the browser says."""
    cookies = request.cookies
    asked = request.headers.get("accept-language", "")
    wished = [part.split(";")[0].strip()[:2].lower() for part in asked.split(",")]
    language = cookies.get("tipbell_words", "")
    if language not in LANGUAGES:
        language = next((wish for wish in wished if wish in LANGUAGES), "en")
    theme = cookies.get("tipbell_light", "auto")
    unit = cookies.get("tipbell_unit", "mm")
    return {
        "language": language,
        "theme": theme if theme in ("auto", "light", "dark") else "auto",
        "unit": unit if unit in ("mm", "in") else "mm",
    }


def _rights(request: Request) -> dict[str, Any]:
    """Return what the asker may do, as the door found: the page does not offer what would be refused."""
    asker = getattr(request.state, "asker", None)
    rights = "keep" if asker is None else asker.rights.value
    return {"rights": rights, "guest": asker is not None and asker.guest_id != ""}


def way_up(request: Request) -> str:
    """Return the relative way to the top: pages then work behind a proxy under any path."""
    raw: bytes = request.scope.get("raw_path") or request.scope["path"].encode()
    steps = raw.split(b"?")[0].count(b"/") - 1
    return "../" * steps


def script_safe(value: Any) -> str:
    """Return JSON that cannot end the script element it stands in."""
    text: str = json.dumps(value, ensure_ascii=False, separators=(",", ":"))
    return text.replace("&", "\\u0026").replace("<", "\\u003c").replace(">", "\\u003e")
