"""Draw the pages of joining: each stands alone, and shows nothing of the bench to a stranger."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape
from starlette.requests import Request
from starlette.responses import HTMLResponse
from starlette.types import Scope, Send

from watcher.page.pages import look_of, script_safe, way_up
from watcher.page.words import words_for
from watcher.page.words_access import ACCESS_WORDS

_TEMPLATES = Path(__file__).parent.parent / "templates"


def draw(request: Request, template: str, status: int = 200, **more: Any) -> HTMLResponse:
    """Return one of the pages of joining in the asker's language and light."""
    look = look_of(request)
    words = words_for(look["language"])
    environment = Environment(
        loader=FileSystemLoader(_TEMPLATES), autoescape=select_autoescape(), undefined=StrictUndefined
    )
    text = environment.get_template(template).render(
        up=way_up(request),
        w=words.__getitem__,
        words_json=script_safe({key: words[key] for key in (*ACCESS_WORDS, "no_answer")}),
        **look,
        **more,
    )
    headers = {"www-authenticate": 'Joining realm="bench"'} if status == 401 else None
    return HTMLResponse(text, status, headers=headers)


async def stranger_page(scope: Scope, send: Send) -> None:
    """Answer somebody who has not joined with one plain sentence."""
    answer = draw(Request(scope), "stranger.html", 401)
    await send({"type": "http.response.start", "status": 401, "headers": answer.raw_headers})
    await send({"type": "http.response.body", "body": bytes(answer.body)})
