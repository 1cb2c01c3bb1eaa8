"""Serve the page from a thread of its own, and stop it within seconds even with pages open."""

from __future__ import annotations

import socket
import threading

import uvicorn
from fastapi import FastAPI

GRACE_S = 3


class Web:
    """A web server on one socket.

    Parameters
    ----------
    app : FastAPI
    host, port : str, int
        Address to listen at; port 0 takes a free one.

    Raises
    ------
    OSError
        The port is taken or may not be used.
    """

    def __init__(self, app: FastAPI, *, host: str = "127.0.0.1", port: int = 0) -> None:
        self._socket = socket.create_server((host, port))
        self.port: int = self._socket.getsockname()[1]
        self.host = host
        config = uvicorn.Config(
            app, log_level="warning", access_log=False, timeout_graceful_shutdown=GRACE_S, lifespan="on"
        )
        self._server = uvicorn.Server(config)
        self._thread = threading.Thread(
            target=self._server.run, kwargs={"sockets": [self._socket]}, name="web", daemon=True
        )
        self._thread.start()

    @property
    def address(self) -> str:
        """The page's address for this machine's own browser."""
        return f"http://{self.host}:{self.port}/"

    def close(self) -> None:
        """Stop serving; open streams are cut after a few seconds."""
        self._server.should_exit = True
        self._thread.join(GRACE_S + 2)
        self._socket.close()
