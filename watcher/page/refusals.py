"""How the page says no: one shape for every refusal, documented once."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, Response
from starlette.exceptions import HTTPException

from watcher.page.guard import ALWAYS, refusal_body
from watcher.page.shapes import ErrorShape
from watcher.storage.writer import JournalFailed

_MEANINGS = {
    400: "not JSON, or not HTTP as it should be",
    401: "this device has not joined the bench",
    403: "foreign host or origin, a bench that is not opened, or a device that may not",
    404: "no such mould, alert or page",
    413: "too long",
    415: "not sent as JSON",
    422: "a key is missing, unknown or has a value that cannot be",
}
REFUSALS: dict[int | str, dict[str, Any]] = {
    status: {"model": ErrorShape, "description": meaning} for status, meaning in _MEANINGS.items()
}
"""What a POST may answer besides 200."""

GET_REFUSALS: dict[int | str, dict[str, Any]] = {status: REFUSALS[status] for status in (401, 403, 404, 422)}
"""What a GET may answer besides 200."""

MEMORY_REFUSALS: dict[int | str, dict[str, Any]] = {
    **GET_REFUSALS,
    503: {"model": ErrorShape, "description": "the bench's memory does not answer"},
}
"""What may be answered besides 200 where the bench's memory is asked."""

MEMORY_POST_REFUSALS: dict[int | str, dict[str, Any]] = {**REFUSALS, **MEMORY_REFUSALS}


class PageRefusal(Exception):
    """Something asked for that cannot be: status, short code, sentence, and the key at fault."""

    def __init__(
        self, status: int, code: str, say: str, field: str = "", *, headers: Mapping[str, str] | None = None
    ) -> None:
        super().__init__(say)
        self.status = status
        self.code = code
        self.say = say
        self.field = field
        self.headers = headers


def install_refusals(app: FastAPI, missing: Callable[[Request], Response] | None = None) -> None:
    """Make every refusal of the app come in the one shape.

    Parameters
    ----------
    app : FastAPI
    missing : callable, optional
        Draws the page that a browser is shown at an address that leads nowhere.
    """

    async def own(_: Request, refused: Exception) -> JSONResponse:
        assert isinstance(refused, PageRefusal)
        body = refusal_body(refused.code, refused.say, refused.field)
        return JSONResponse(body, refused.status, headers=dict(refused.headers or {}))

    async def of_the_framework(request: Request, refused: Exception) -> Response:
        assert isinstance(refused, HTTPException)
        # Not for strangers, who get as far as this below /static/: the page holds what the bench shows.
        in_browser = request.method == "GET" and "text/html" in request.headers.get("accept", "")
        known = getattr(request.state, "asker", None) is not None
        if missing and refused.status_code == 404 and in_browser and known:
            return missing(request)
        body = refusal_body("refused", str(refused.detail))
        return JSONResponse(body, refused.status_code, headers=dict(refused.headers or {}))

    async def of_the_check(_: Request, refused: Exception) -> JSONResponse:
        assert isinstance(refused, RequestValidationError)
        first = refused.errors()[0]
        if first["type"] == "json_invalid":
            return JSONResponse(refusal_body("not_json", "the body is not JSON"), 400)
        # The value itself is not repeated: it is whatever was sent.
        field = ".".join(str(part) for part in first["loc"] if part != "body")
        say = str(first["msg"]).removeprefix("Value error, ")
        return JSONResponse(refusal_body("cannot_be", say, field), 422)

    async def of_a_breakdown(_: Request, __: Exception) -> JSONResponse:
        # This answer is made outside the guard; the exception itself goes on to the log.
        body = refusal_body("broken", "something broke; the log of the service says what")
        return JSONResponse(body, 500, headers=dict(ALWAYS))

    async def of_the_memory(_: Request, refused: Exception) -> JSONResponse:
        return JSONResponse(refusal_body("no_memory", str(refused)), 503)

    app.add_exception_handler(Exception, of_a_breakdown)
    app.add_exception_handler(JournalFailed, of_the_memory)
    app.add_exception_handler(PageRefusal, own)
    app.add_exception_handler(HTTPException, of_the_framework)
    app.add_exception_handler(RequestValidationError, of_the_check)
