"""The page's name is told on the network, found by others, and taken back: all on this machine's loopback."""

from __future__ import annotations

import time
from collections.abc import Callable

import pytest

from watcher.service import announcing
from watcher.service.announcing import KIND, Announcer, announced_name
from watcher.settings import SettingsError, read_settings

zeroconf = pytest.importorskip("zeroconf", reason="the extra network (zeroconf) is not installed")
LOOPBACK = ("127.0.0.1",)
pytestmark = pytest.mark.slow


def until(true: Callable[[], object], seconds: float = 10.0) -> object:
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        found = true()
        if found:
            return found
        time.sleep(0.05)
    raise AssertionError("it did not come to pass")


def test_a_page_is_found_by_its_name_with_an_address_that_works_and_is_gone_after_its_goodbye() -> None:
    name = "North bench at the window"
    announcer = Announcer("tipbell-test.local", name, 8417, lambda: LOOPBACK)
    seen: dict[str, object] = {}

    class Listener:
        """Somebody who looks for pages nearby."""

        def add_service(self, asking: object, kind: str, found: str) -> None:
            seen[found] = None

        def update_service(self, asking: object, kind: str, found: str) -> None:
            """A change of what was told."""

        def remove_service(self, asking: object, kind: str, found: str) -> None:
            seen.pop(found, None)

    looking = zeroconf.Zeroconf(interfaces=list(LOOPBACK), ip_version=zeroconf.IPVersion.V4Only)
    try:
        browser = zeroconf.ServiceBrowser(looking, KIND, Listener())
        full = f"Tipbell {name}.{KIND}"
        until(lambda: full in seen)
        info = until(lambda: looking.get_service_info(KIND, full, timeout=3000))
        assert (info.port, info.server) == (8417, "tipbell-test.local.")
        assert info.parsed_addresses() == list(LOOPBACK)
        announcer.close()
        until(lambda: full not in seen)
        browser.cancel()
    finally:
        announcer.close()
        looking.close()


def test_it_is_told_anew_when_the_computer_gets_another_address(monkeypatch: pytest.MonkeyPatch) -> None:
    told: list[tuple[str, ...]] = []
    now = [()]
    monkeypatch.setattr(Announcer, "_told", lambda self, addresses: told.append(addresses))
    announcer = Announcer("tipbell-test.local", "bench", 1, lambda: now[0], every_s=0.02)
    for addresses in (("192.0.2.7",), ("192.0.2.9", "198.51.100.4"), ()):
        now[0] = addresses
        until(lambda wanted=addresses: told and told[-1] == wanted)
    announcer.close()
    assert len(told) == 3


def test_the_name_is_the_bench_computers_own_but_not_the_very_name_that_the_system_tells(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(announcing, "own_names", lambda: ("kiln.local", "kiln"))
    assert announced_name() == "tipbell-kiln.local"
    monkeypatch.setattr(announcing, "own_names", lambda: ())
    assert announced_name() == ""


def test_a_bench_that_is_not_opened_is_not_announced(tmp_path) -> None:
    text = '[camera]\naddress = "0"\n[page]\nannounce = true\n'
    (tmp_path / "tipbell.toml").write_text(text, encoding="utf-8")
    with pytest.raises(SettingsError, match=r"announce.*open = true"):
        read_settings(tmp_path / "tipbell.toml")
    (tmp_path / "tipbell.toml").write_text(text + "open = true\n", encoding="utf-8")
    assert read_settings(tmp_path / "tipbell.toml").page.announce


def test_the_longest_name_fits_into_one_label() -> None:
    """63 bytes at most (RFC 6763, 4.1.1); a name is never cut inside a letter."""
    for bench in ("b" * 40, "ä" * 40, "a.b.c", "🏺" * 40):
        label = announcing._label(bench)
        assert 1 <= len(label.encode()) <= 63 and "." not in label
        assert label.startswith("Tipbell ")
