"""Real cameras in the network on the loopback, started, stalled and killed by the tests."""

from __future__ import annotations

import base64
import signal
import socket
import subprocess
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Event, Thread

import cv2
import numpy as np

from watcher.camera.source import FrameSource
from watcher.records.frames import Frame, NoFrame

SIZE_PX = (320, 240)


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def waited_for(source: FrameSource, good: Callable[[Frame | NoFrame], bool], seconds: float) -> float:
    """Ask a source until its answer is good; return how long it took, or fail with its last answer."""
    began = time.monotonic()
    while time.monotonic() - began < seconds:
        answer = source.newest()
        if good(answer):
            return time.monotonic() - began
        time.sleep(0.02)
    raise AssertionError(f"not within {seconds} s; the last answer was {answer!r:.300}")


def is_picture(answer: Frame | NoFrame) -> bool:
    return isinstance(answer, Frame)


@dataclass
class Program:
    """A server program that can be held still and killed."""

    url: str
    process: subprocess.Popen[bytes]

    def hold(self) -> None:
        self.process.send_signal(signal.SIGSTOP)

    def go_on(self) -> None:
        self.process.send_signal(signal.SIGCONT)

    def kill(self) -> None:
        self.process.kill()
        self.process.wait()
        for pipe in (self.process.stdout, self.process.stderr):
            if pipe is not None:
                pipe.close()


def ffmpeg_camera(ffmpeg: str, port: int) -> Program:
    """MJPEG over HTTP by ffmpeg; it serves one viewer and ends when that one hangs up."""
    url = f"http://127.0.0.1:{port}/"
    made = [ffmpeg, "-loglevel", "error", "-re", "-f", "lavfi", "-i"]
    made += [f"testsrc2=size={SIZE_PX[0]}x{SIZE_PX[1]}:rate=10", "-f", "mpjpeg", "-listen", "1", url]
    return Program(url, subprocess.Popen(made, stdin=subprocess.DEVNULL, stderr=subprocess.DEVNULL))


def rtsp_camera(python: str, port: int, *login: str) -> Program:
    """RTSP by GStreamer's server."""
    script = Path(__file__).parent / "rtsp_server.py"
    process = subprocess.Popen(
        [python, str(script), str(port), *login], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL
    )
    assert process.stdout is not None
    assert process.stdout.readline() == b"listening\n"
    return Program(f"rtsp://127.0.0.1:{port}/bench", process)


@dataclass
class FaultyCamera:
    """MJPEG over HTTP whose faults can be switched on while it serves."""

    url: str = ""
    picture: Callable[[int], np.ndarray] = field(default=lambda number: noise(number))
    every_s: float = 0.05
    silent: Event = field(default_factory=Event)
    login: str = ""
    stopping: Event = field(default_factory=Event)


def noise(number: int, size_px: tuple[int, int] = SIZE_PX) -> np.ndarray:
    """A grey bench with the noise of a sensor."""
    rng = np.random.default_rng(number)
    return np.clip(rng.normal(120, 3, (size_px[1], size_px[0], 3)), 0, 255).astype(np.uint8)


@contextmanager
def faulty_camera() -> Iterator[FaultyCamera]:
    camera = FaultyCamera()

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            wanted = base64.b64encode(camera.login.encode()).decode()
            if camera.login and self.headers.get("Authorization") != f"Basic {wanted}":
                self.send_response(401)
                self.send_header("WWW-Authenticate", 'Basic realm="camera"')
                self.end_headers()
                return
            self.send_response(200)
            self.send_header("Content-Type", "multipart/x-mixed-replace;boundary=next")
            self.end_headers()
            number = 0
            try:
                while not camera.stopping.is_set():
                    if not camera.silent.is_set():
                        number += 1
                        jpeg = cv2.imencode(".jpg", camera.picture(number))[1].tobytes()
                        head = f"--next\r\nContent-Type: image/jpeg\r\nContent-Length: {len(jpeg)}\r\n\r\n"
                        self.wfile.write(head.encode() + jpeg + b"\r\n")
                    camera.stopping.wait(camera.every_s)
            except OSError:
                pass  # the viewer has hung up

        def log_message(self, *_: object) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    server.daemon_threads = True
    camera.url = f"http://127.0.0.1:{server.server_port}/live"
    thread = Thread(target=server.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True)
    thread.start()
    try:
        yield camera
    finally:
        camera.stopping.set()
        server.shutdown()
        server.server_close()
        thread.join()
