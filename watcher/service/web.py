"""Serve the page from a thread of its own, and stop it within seconds even with pages open."""

from __future__ import annotations

import socket
import threading
from pathlib import Path

import uvicorn
from fastapi import FastAPI

from watcher.service.certificate import load_chain
from watcher.service.patience import PatientProtocol

GRACE_S = 3


class Web:
    """A web server on one socket.

    Parameters
    ----------
    app : FastAPI
    host, port : str, int
        Address to listen at; port 0 takes a free one.
    certificate, key : Path, optional
        PEM files for https; without them it is http.

    Raises
    ------
    OSError
        The port is taken or may not be used, or certificate and key cannot be used.
    """

    def __init__(
        self,
        app: FastAPI,
        *,
        host: str = "127.0.0.1",
        port: int = 0,
        certificate: Path | None = None,
        key: Path | None = None,
    ) -> None:
        if certificate is not None:
            load_chain(certificate, key)
        self._sockets = _listening(host, port)
        self.port: int = self._sockets[0].getsockname()[1]
        self.host = host
        self._scheme = "http" if certificate is None else "https"
        config = uvicorn.Config(
            app,
            log_level="error",  # what strangers send that is no HTTP would fill the log with warnings
            http=PatientProtocol,
            ws="none",
            access_log=False,
            timeout_graceful_shutdown=GRACE_S,
            lifespan="on",
            proxy_headers=False,  # the page itself decides which proxy it believes
            server_header=False,
            ssl_certfile=certificate,
            ssl_keyfile=key,
        )
        self._server = uvicorn.Server(config)
        self._thread = threading.Thread(
            target=self._server.run, kwargs={"sockets": self._sockets}, name="web", daemon=True
        )
        self._thread.start()

    @property
    def address(self) -> str:
        """The page's address for this machine's own browser."""
        host = "127.0.0.1" if self.host == "0.0.0.0" else self.host
        return f"{self._scheme}://{host}:{self.port}/"

    def close(self) -> None:
        """Stop serving; open streams are cut after a few seconds."""
        self._server.should_exit = True
        self._thread.join(GRACE_S + 2)
        for one in self._sockets:
            one.close()


def _listening(host: str, port: int) -> list[socket.socket]:
    """Listen at the address, and at this machine's own IPv6 address, which `localhost` may mean.

    At no other IPv6 address: no router's translation hides those from the world, and phones come by IPv4.
    """
    first = socket.create_server((host, port))
    try:
        second = socket.create_server(("::1", first.getsockname()[1]), family=socket.AF_INET6)
    except OSError:  # a machine without IPv6, or another program has the port there
        return [first]
    return [first, second]
