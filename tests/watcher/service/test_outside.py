"""Those outside are told how the bench stands, by a real message server and a real web server."""

from __future__ import annotations

import json
import subprocess
import time
from collections.abc import Callable
from dataclasses import replace
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Event, Thread

import paho.mqtt.subscribe as subscribe
import pytest
from bench_looks import at, bench
from camera_servers import free_port

from watcher.alerts.senders import UnusableChannel
from watcher.page.views import bench_view
from watcher.service.outside import ALIVE_S, Outside
from watcher.service.running import RunningBench
from watcher.service.troubles import Troubles
from watcher.settings import OutsideSettings


def test_the_message_server_shows_each_mould_as_the_page_does(mosquitto_path: str, tmp_path: Path) -> None:
    port = free_port()
    (tmp_path / "m.conf").write_text(f"listener {port} 127.0.0.1\nallow_anonymous true\n")
    server = subprocess.Popen([mosquitto_path, "-c", str(tmp_path / "m.conf")], stderr=subprocess.DEVNULL)
    settings = OutsideSettings.model_validate({"messages": f"mqtt://127.0.0.1:{port}/house"})
    present = replace(bench(), now_s=10.0, now_at=at(10.0))
    outside = Outside(settings, lambda: present, lambda: 10.0)
    try:
        outside.tell()
        until = time.monotonic() + 8.0
        while outside._announcer is not None and outside._announcer.trouble and time.monotonic() < until:
            time.sleep(0.02)
        message = subscribe.simple("house/+/mould/beaker", hostname="127.0.0.1", port=port, keepalive=5)
    finally:
        outside.close()
        server.kill()
        server.wait()
    state = json.loads(message.payload)
    assert (state["name"], state["phase"], state["target_wall_mm"]) == ("beaker", "empty", 2.4)


def test_a_bench_that_no_longer_ticks_gives_no_sign_of_life() -> None:
    asked = Event()

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            asked.set()
            self.send_response(200)
            self.end_headers()

        def log_message(self, *_: object) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    Thread(target=server.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True).start()
    settings = OutsideSettings.model_validate({"sign_of_life": f"http://127.0.0.1:{server.server_port}/x"})
    present = replace(bench(), now_s=10.0, now_at=at(10.0))
    try:
        stuck = Outside(settings, lambda: present, lambda: 10.0 + ALIVE_S + 1.0)
        assert not asked.wait(0.5)
        stuck.close()
        well = Outside(settings, lambda: present, lambda: 11.0)
        assert asked.wait(4.0)
        well.close()
    finally:
        server.shutdown()
        server.server_close()


def test_an_address_that_is_none_is_refused_in_a_sentence() -> None:
    settings = OutsideSettings.model_validate({"messages": "mqtts://user:hunter22@"})
    with pytest.raises(UnusableChannel, match="mqtt://host") as refused:
        Outside(settings, bench, lambda: 0.0)
    assert "hunter22" not in str(refused.value)


def said_within(outside: Outside, good: Callable[[str], bool], seconds: float = 8.0) -> str:
    until = time.monotonic() + seconds
    while not good(outside.trouble()) and time.monotonic() < until:
        time.sleep(0.02)
    return outside.trouble()


def test_whoever_outside_cannot_be_told_stands_on_the_page_until_it_answers(
    mosquitto_path: str, tmp_path: Path
) -> None:
    port, web_port = free_port(), free_port()
    settings = OutsideSettings.model_validate(
        {"messages": f"mqtt://127.0.0.1:{port}", "sign_of_life": f"http://127.0.0.1:{web_port}/k3yk3y"}
    )
    present = replace(bench(), now_s=10.0, now_at=at(10.0))
    outside = Outside(settings, lambda: present, lambda: 10.0)
    troubles = Troubles()
    troubles.add(outside.trouble)
    running = RunningBench(present, now=lambda: (10.0, at(10.0)), troubles=troubles)
    try:
        said = said_within(outside, lambda text: "cannot be told" in text and "sign of life" in text)
        running.tick(11.0, at(11.0))
        assert (
            list(running.bench().troubles) == bench_view(running.bench(), running, None)["troubles"] == [said]
        )
        assert "k3yk3y" not in said
        (tmp_path / "m.conf").write_text(f"listener {port} 127.0.0.1\nallow_anonymous true\n")
        server = subprocess.Popen([mosquitto_path, "-c", str(tmp_path / "m.conf")], stderr=subprocess.DEVNULL)
        try:
            assert "cannot be told" not in said_within(outside, lambda text: "told" not in text, 12.0)
        finally:
            server.kill()
            server.wait()
    finally:
        outside.close()


def test_before_anything_was_tried_nothing_is_wrong() -> None:
    settings = OutsideSettings.model_validate({})
    outside = Outside(settings, bench, lambda: 0.0)
    assert outside.trouble() == ""
    outside.close()
