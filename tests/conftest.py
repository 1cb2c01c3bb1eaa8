"""What tests may ask for that a machine may lack: then they skip with one line, or fail where CI=true."""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path

import pytest
from hypothesis import settings
from what_is_missing import do_without

ROOT = Path(__file__).resolve().parent.parent
SAMPLE_SESSION = ROOT / "sample_frames" / "morning_bench"
SHARED_RECORDINGS = ROOT.parent / "shared" / "bench_recordings"

# a loaded machine is slow now and then, which says nothing about the property under test
settings.register_profile("bench", deadline=None)
settings.load_profile("bench")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Leave tests with a browser to the end: while one is open, nothing else may start an event loop."""
    of_a_browser = {"page", "browser", "context", "chromium", "chromium_path"}
    items.sort(key=lambda item: bool(of_a_browser & set(getattr(item, "fixturenames", ()))))


def _program(what: str, *names: str) -> str:
    places = os.pathsep.join([os.environ.get("PATH", ""), "/usr/sbin", "/usr/local/sbin"])
    for name in names:
        found = shutil.which(name, path=places)
        if found:
            return found
    return do_without(what)


@pytest.fixture(scope="session")
def chromium_path() -> str:
    """Path of a Chromium browser."""
    return _program("a Chromium browser", "chromium", "chromium-browser", "google-chrome")


@pytest.fixture(scope="session")
def mosquitto_path() -> str:
    """Path of the mosquitto MQTT server."""
    return _program("the MQTT server mosquitto", "mosquitto")


@pytest.fixture(scope="session")
def ffmpeg_path() -> str:
    """Path of ffmpeg."""
    return _program("ffmpeg", "ffmpeg")


@pytest.fixture(scope="session")
def openssl_path() -> str:
    """Path of openssl, by which people make certificates."""
    return _program("openssl", "openssl")


@pytest.fixture(scope="session")
def nginx_path() -> str:
    """Path of the reverse proxy nginx."""
    return _program("the reverse proxy nginx", "nginx")


@pytest.fixture(scope="session")
def systemd_analyze_path() -> str:
    """Path of the program that judges systemd's units."""
    return _program("systemd-analyze", "systemd-analyze")


@pytest.fixture(scope="session")
def rtsp_python() -> str:
    """Path of a Python that can serve RTSP by GStreamer: the system's own, for which apt brings the parts."""
    ask = (
        "import gi; gi.require_version('GstRtspServer', '1.0'); from gi.repository import Gst, GstRtspServer;"
        " Gst.init(None); assert Gst.ElementFactory.find('rtph264pay') and Gst.ElementFactory.find('x264enc')"
    )
    python = "/usr/bin/python3"
    if Path(python).exists() and subprocess.run([python, "-c", ask], capture_output=True).returncode == 0:
        return python
    parts = "python3-gi gir1.2-gst-rtsp-server-1.0 gstreamer1.0-plugins-good gstreamer1.0-plugins-ugly"
    return do_without(f"an RTSP server ({parts})")


@pytest.fixture(scope="session")
def browser_type_launch_args(chromium_path: str) -> dict[str, object]:
    """Start the system's own Chromium; root may not use its sandbox."""
    return {"executable_path": chromium_path, "args": ["--no-sandbox"], "headless": True}


@pytest.fixture(scope="session")
def shared_recordings() -> Path:
    """Folder with further recordings beside this checkout, where somebody has put it."""
    if not SHARED_RECORDINGS.is_dir():
        pytest.skip("no further bench recordings lie beside this checkout")
    return SHARED_RECORDINGS
