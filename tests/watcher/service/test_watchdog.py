"""The service manager hears that the bench moves on, and nothing when it does not (sd_notify(3))."""

from __future__ import annotations

import itertools
import os
import socket
from collections.abc import Iterator
from pathlib import Path

import pytest

from watcher.service.watchdog import Watchdog

WANTED_US = "400000"


@pytest.fixture
def manager(tmp_path: Path) -> Iterator[socket.socket]:
    """The manager's end of the line."""
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as heard:
        heard.bind(str(tmp_path / "notify"))
        heard.settimeout(3.0)
        yield heard


def told(manager: socket.socket) -> str:
    return manager.recv(1000).decode()


def environment(manager: socket.socket, **more: str) -> dict[str, str]:
    return {"NOTIFY_SOCKET": str(manager.getsockname()), "WATCHDOG_USEC": WANTED_US, **more}


def test_ready_and_stopping_are_told_each_in_one_word_of_one_line(manager: socket.socket) -> None:
    dog = Watchdog(environment(manager), lambda: 0.0)
    dog.ready("Watching bench\nMAINPID=1")
    assert told(manager) == "READY=1\nSTATUS=Watching bench MAINPID=1"
    dog.close(stopping=True)
    assert told(manager).startswith("STOPPING=1\n")


def test_a_bench_that_is_assembled_anew_says_neither_that_it_stops_nor_that_the_old_one_moves_on(
    manager: socket.socket,
) -> None:
    """Told STOPPING=1, systemd ends the service when its time for stopping is over (sd_notify(3))."""
    dog = Watchdog(environment(manager), itertools.count().__next__)
    assert told(manager) == "WATCHDOG=1"
    dog.close(stopping=False)
    dog.ready("still heard")
    heard = [told(manager)]
    while not heard[-1].startswith("READY=1"):  # one word may have been on its way
        heard.append(told(manager))
    manager.settimeout(0.6)
    with pytest.raises(TimeoutError):
        told(manager)
    assert not any("STOPPING" in word for word in heard)


def test_a_bench_that_moves_on_is_told_in_good_time(manager: socket.socket) -> None:
    dog = Watchdog(environment(manager, WATCHDOG_PID=str(os.getpid())), itertools.count().__next__)
    manager.settimeout(float(WANTED_US) / 1e6)
    assert [told(manager) for _ in range(4)] == ["WATCHDOG=1"] * 4
    dog.close(stopping=True)


def test_a_bench_that_stands_still_is_not_told_and_one_that_goes_on_again_is(manager: socket.socket) -> None:
    present = [5.0]
    dog = Watchdog(environment(manager), lambda: present[0])
    manager.settimeout(1.0)
    with pytest.raises(TimeoutError):
        told(manager)
    present[0] = 6.0
    assert told(manager) == "WATCHDOG=1"
    dog.close(stopping=True)


@pytest.mark.parametrize(
    "more", [{"WATCHDOG_PID": "1"}, {"WATCHDOG_USEC": ""}, {"WATCHDOG_USEC": "soon"}, {"WATCHDOG_USEC": "0"}]
)
def test_what_is_meant_for_another_or_for_nobody_is_not_told(
    manager: socket.socket, more: dict[str, str]
) -> None:
    dog = Watchdog(environment(manager, **more), itertools.count().__next__)
    manager.settimeout(0.5)
    with pytest.raises(TimeoutError):
        told(manager)
    dog.close(stopping=True)


def test_without_a_manager_or_with_one_that_is_gone_nothing_fails(tmp_path: Path) -> None:
    for given in ({}, {"NOTIFY_SOCKET": str(tmp_path / "gone"), "WATCHDOG_USEC": WANTED_US}):
        dog = Watchdog(given, lambda: None)
        dog.ready("x")
        dog.close(stopping=True)
        dog.close(stopping=True)


def test_a_manager_whose_line_has_no_file_is_found_too() -> None:
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as heard:
        heard.bind(f"\0tipbell-{os.getpid()}")
        heard.settimeout(3.0)
        Watchdog({"NOTIFY_SOCKET": f"@tipbell-{os.getpid()}"}, lambda: None).ready("x")
        assert told(heard).startswith("READY=1")
