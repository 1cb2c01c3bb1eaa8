"""Draw the set-up pages in the asker's language and light."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import Any

from fastapi import Request
from fastapi.responses import HTMLResponse
from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape

from watcher.page.access.door import asker_of
from watcher.page.pages import look_of, script_safe, way_up
from watcher.page.setup.words import setup_words
from watcher.page.setup.words_told import TOLD, told_in

_TEMPLATES = Path(__file__).parent.parent / "templates"
_IN_SCRIPTS = (
    "no_answer", "sure", "working", "taps", "live_wait", "lens_collect", "lens_collecting", "starting",
    "start_slow", "mould_no_card", "card_number",
)  # fmt: skip
ORDER = ("camera", "print", "lens", "sheet", "mould", "sight", "start")
"""The steps that have a page, in the order in which they are gone through."""


class Drawing:
    """The templates of the set-up pages."""

    def __init__(self) -> None:
        self._templates = Environment(
            loader=FileSystemLoader(_TEMPLATES), autoescape=select_autoescape(), undefined=StrictUndefined
        )

    def draw(self, request: Request, template: str, step: str, **shown: Any) -> HTMLResponse:
        """Return one page.

        Parameters
        ----------
        request : Request
        template : str
            Its file.
        step : str
            Which step it is.
        **shown
            What it shows.
        """
        look = look_of(request)
        words = setup_words(look["language"])
        after = ORDER.index(step) + 1 if step in ORDER else len(ORDER)
        asker = asker_of(request)
        text = self._templates.get_template(template).render(
            up=way_up(request),
            s=words.__getitem__,
            told=partial(told_in, look["language"]),
            told_json=script_safe(dict(TOLD) if look["language"] == "de" else {}),
            step=step,
            next_step=ORDER[after] if after < len(ORDER) else "",
            rights="look" if asker is None else asker.rights.value,
            words_json=script_safe({key: words[key] for key in _IN_SCRIPTS}),
            **look,
            **shown,
        )
        return HTMLResponse(text)
