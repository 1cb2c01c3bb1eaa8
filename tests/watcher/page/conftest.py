"""Fixtures of the page's tests: a made-up bench, asking it in process or over a real port, a browser."""

from __future__ import annotations

import asyncio
import importlib.util
import shutil
import socket
import sys
import threading
import time
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path
from types import ModuleType
from typing import Any

import httpx
import pytest
import uvicorn
from opened_bench import Served
from past_days import opened, pour_days, remember

from watcher.page.app import make_app

HERE = Path(__file__).parent
OWN = "http://127.0.0.1:8300"


def load(name: str) -> ModuleType:
    """Load a module that lies beside the tests: with importlib mode nothing here is on the path."""
    if name not in sys.modules:
        spec = importlib.util.spec_from_file_location(name, HERE / f"{name}.py")
        assert spec is not None and spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        sys.modules[name] = module
        spec.loader.exec_module(module)
    return sys.modules[name]


@pytest.fixture(scope="session")
def fakes() -> ModuleType:
    load("fake_pictures")
    return load("fake_bench")


@pytest.fixture
def bench(fakes: ModuleType) -> Any:
    return fakes.FakeBench()


@pytest.fixture
def ask(bench: Any) -> Callable[..., httpx.Response]:
    """Ask the page in process: `ask("GET", "/bench.json", opened=False, client="127.0.0.1", headers=...)`."""

    apps: dict[Any, Any] = {}

    def ask_it(
        method: str,
        path: str,
        *,
        opened: bool = False,
        names: tuple[str, ...] = (),
        client: str = "127.0.0.1",
        memory: Any = None,
        **more: Any,
    ) -> httpx.Response:
        key = (opened, names, memory)
        if key not in apps:
            apps[key] = make_app(bench, opened=opened, names=names, memory=memory)
        app = apps[key]

        async def go() -> httpx.Response:
            transport = httpx.ASGITransport(app, client=(client, 50000), raise_app_exceptions=False)
            async with httpx.AsyncClient(transport=transport, base_url=OWN) as asking:
                return await asking.request(method, path, **more)

        return asyncio.run(go())

    return ask_it


class Server:
    """The page on a real port, that can be killed and started again."""

    def __init__(self, bench: Any, memory: Any = None, others: Any = None) -> None:
        self.bench = bench
        self.memory = memory
        self.others = others
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.start()

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def start(self) -> None:
        self.bench.stop = False
        config = uvicorn.Config(
            make_app(self.bench, memory=self.memory, others=self.others),
            host="127.0.0.1",
            port=self.port,
            log_level="critical",
            timeout_graceful_shutdown=2,
        )
        self._server = uvicorn.Server(config)
        self._thread = threading.Thread(target=self._server.run, daemon=True)
        self._thread.start()
        until = time.monotonic() + 10
        while not self._server.started:
            assert time.monotonic() < until and self._thread.is_alive(), "the server did not start"
            time.sleep(0.01)

    def stop(self, tell: bool = True) -> float:
        """Stop it; `tell`: the port says so first, as the service does. Returns the seconds it took."""
        began = time.monotonic()
        self.bench.stop = tell
        self._server.should_exit = True
        self._server.force_exit = not tell
        self._thread.join(10)
        assert not self._thread.is_alive()
        return time.monotonic() - began


@pytest.fixture(scope="session")
def past(fakes: ModuleType, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two days before the made-up bench's present and some of its own day, written once for all tests."""
    folder = tmp_path_factory.mktemp("past")
    journal, remembered = opened(folder)
    names = fakes.NAMES[:3]
    casts = pour_days(2, fakes.START - timedelta(days=1), names) + pour_days(1, fakes.START, names[:2], 1)
    jpeg = load("fake_pictures").hole_jpeg()
    layout = fakes.FakeBench().bench().layout
    remember(journal, layout, casts, pictures=remembered, jpeg=jpeg, every_min=2.0)
    journal.close()
    return folder


@pytest.fixture
def memory(past: Path, tmp_path: Path) -> Iterator[Any]:
    """That past in a real journal of this test's own."""
    shutil.copytree(past, tmp_path / "memory")
    journal, remembered = opened(tmp_path / "memory")
    yield remembered
    journal.close()


@pytest.fixture
def serve() -> Iterator[Callable[[Any], Server]]:
    servers: list[Server] = []

    def start(bench: Any, memory: Any = None, others: Any = None) -> Server:
        servers.append(Server(bench, memory, others))
        return servers[-1]

    yield start
    for server in servers:
        server.stop()


@pytest.fixture(scope="module")
def chromium(chromium_path: str) -> Iterator[Any]:
    """Debian's Chromium, headless; without one the browser tests skip, or fail where CI promises one.

    Not for the whole session: while it is open no other test can run an event loop of its own.
    """
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playing:
        browser = playing.chromium.launch(
            executable_path=chromium_path,
            args=["--no-sandbox", "--disable-dev-shm-usage", "--autoplay-policy=user-gesture-required"],
        )
        yield browser
        browser.close()


@pytest.fixture
def open_page(chromium: Any) -> Iterator[Callable[..., Any]]:
    """Open a page; at the end its console must be clean (a page may name errors that it expects)."""
    opened: list[tuple[Any, list[str], tuple[str, ...]]] = []

    def open_one(
        url: str, *, width: int = 390, height: int = 844, expect: tuple[str, ...] = (), **context: Any
    ) -> Any:
        made = chromium.new_context(viewport={"width": width, "height": height}, **context)
        page = made.new_page()
        page.set_default_timeout(8000)
        said: list[str] = []
        page.on("console", lambda message: said.append(message.text) if message.type == "error" else None)
        page.on("pageerror", lambda error: said.append(str(error)))
        opened.append((made, said, expect))
        page.goto(url)
        return page

    yield open_one
    complaints = []
    for made, said, expect in opened:
        made.close()
        complaints += [text for text in said if not any(word in text for word in expect)]
    assert complaints == []


@pytest.fixture
def serve_opened(bench: Any) -> Iterator[Callable[..., Served]]:
    served: list[Served] = []

    def start(**more: Any) -> Served:
        served.append(Served(bench, **more))
        return served[-1]

    yield start
    bench.stop = True
    for one in served:
        one.close()


@pytest.fixture
def served(serve_opened: Callable[..., Served]) -> Served:
    return serve_opened()
